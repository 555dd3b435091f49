//! What lies near each of many segments, looked up for several of them at once where they are short and follow one another.

use super::PathFlaw;
use crate::geometry::{Bounds, Point, Segment, SegmentIndex, Vector};

/// Segments looked up together at most.
const TOGETHER: usize = 16;

/// Stretches are no longer than this share of the distance at which others are looked for: of a longer one too much that is
/// near to some of it is far from the rest.
const SHARE_OF_DISTANCE: f64 = 0.25;

/// A segment of an index.
#[derive(Clone, Copy)]
pub(super) struct Near {
    /// Its number there.
    pub(super) number: usize,
    pub(super) segment: Segment,
    /// The ball round its middle that holds it.
    pub(super) middle: Point,
    pub(super) half_extent: f64,
}

/// Calls `visit` for each of `segments`, in their order, with its number and all segments of `index` that come within `reach` mm
/// of it, and others near to its neighbours. `distance` mm is how far away most of them lie.
pub(super) fn near_each(
    segments: &[Segment],
    index: &SegmentIndex,
    reach: f64,
    distance: f64,
    mut visit: impl FnMut(usize, Segment, &[Near]) -> Result<(), PathFlaw>,
) -> Result<(), PathFlaw> {
    let mut near = Vec::new();
    let mut first = 0;
    while first < segments.len() {
        let mut all = segments[first].bounds();
        let together = segments[first + 1..]
            .iter()
            .take(TOGETHER - 1)
            .take_while(|segment| {
                let grown = all.union(segment.bounds());
                let short = grown.width() + grown.height() <= SHARE_OF_DISTANCE * distance;
                if short {
                    all = grown;
                }
                short
            })
            .count();
        near.clear();
        let strip = Strip::along(&segments[first..=first + together]);
        index.visit_runs_around(all, reach, |run| {
            for (number, &segment) in run.clone().zip(&index.segments()[run]) {
                if strip.comes_within(reach, segment) {
                    near.push(Near {
                        number,
                        segment,
                        middle: segment.middle(),
                        half_extent: segment.half_extent(),
                    });
                }
            }
        });
        for (i, &segment) in segments.iter().enumerate().skip(first).take(together + 1) {
            visit(i, segment, &near)?;
        }
        first += together + 1;
    }
    Ok(())
}

/// A rectangle that lies along a stretch of segments and holds them: what is beside it is told apart much sooner than by an upright one.
struct Strip {
    from: Point,
    ahead: Vector,
    held: Bounds,
}

impl Strip {
    fn along(stretch: &[Segment]) -> Self {
        let (first, last) = (stretch[0], stretch[stretch.len() - 1]);
        let ahead = (last.to - first.from)
            .normalized()
            .unwrap_or_else(|| first.direction(0.5));
        let mut strip = Self {
            from: first.from,
            ahead,
            held: Bounds::EMPTY,
        };
        strip.held = stretch
            .iter()
            .fold(Bounds::EMPTY, |held, &segment| held.union(strip.seen(segment)));
        strip
    }

    /// What holds a segment, as the strip lies: no point of an arc is farther from its chord than it rises.
    fn seen(&self, segment: Segment) -> Bounds {
        let [from, to] = [segment.from, segment.to].map(|p| {
            let away = p - self.from;
            Point::new(away.dot(self.ahead), away.dot(self.ahead.left()))
        });
        let seen = Bounds::of([from, to]);
        if segment.is_arc() {
            seen.grown(0.5 * segment.chord() * segment.bulge.abs())
        } else {
            seen
        }
    }

    fn comes_within(&self, reach: f64, other: Segment) -> bool {
        self.held.is_within(reach, self.seen(other))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the least distances of all pairs: whatever comes within reach of a segment is among what is near to it, lines and arcs of less
    /// and of more than a quarter turn, in short pieces and long ones.
    #[test]
    fn nothing_within_reach_is_left_aside() {
        let spiral = |step: f64, bulge: f64| -> Vec<Segment> {
            let at = |i: u32| {
                let turn = step * f64::from(i);
                Point::default() + Vector::unit(turn) * (1.0 + 0.1 * turn)
            };
            (0..300)
                .map(|i| Segment::arc(at(i), at(i + 1), if i % 3 == 0 { bulge } else { 0.0 }))
                .collect()
        };
        for (step, bulge) in [(0.002, 0.01), (0.05, 0.3), (0.4, -0.9), (1.1, 0.6)] {
            let segments = spiral(step, bulge);
            let index = SegmentIndex::new(segments.clone());
            for reach in [1e-4, 0.2, 0.7] {
                let mut visited = 0;
                let found = near_each(&segments, &index, reach, reach, |i, segment, near| {
                    assert_eq!((i, segment), (visited, segments[visited]));
                    visited += 1;
                    for (j, &other) in segments.iter().enumerate() {
                        let within = segment.clearance(other) < reach;
                        assert!(
                            !within
                                || near
                                    .iter()
                                    .any(|found| found.number == j && found.segment == other),
                            "{i} and {j}, steps of {step}, reach {reach}"
                        );
                    }
                    Ok(())
                });
                assert!(found.is_ok() && visited == segments.len());
            }
        }
    }
}
