//! Open curves that run along others are cut where the common stretch begins and ends, so that it can be kept
//! once.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::assemble::Line;
use super::contacts::Along;
use crate::drawing::Curve;
use crate::geometry::{Point, Polyline, Vertex};

/// A stretch of an open curve that another curve runs along too.
#[derive(Clone, Copy)]
pub(super) struct Stretch {
    from: Point,
    to: Point,
    /// The other line is a loop, so it keeps the stretch and this one gives it up.
    given_up: bool,
}

/// The stretches of each open curve.
pub(super) type Stretches = BTreeMap<usize, Vec<Stretch>>;

/// What has to be cut to resolve the overlaps of `lines`, which are marked as repaired. Only open lines are
/// touched: where one runs along a loop it gives the stretch up, where two run along one another both are cut.
/// Overlaps of two loops and of a curve with itself are left as they are.
pub(super) fn stretches(curves: &[Curve], lines: &[Line], overlaps: &mut [Along]) -> Stretches {
    let mut all = Stretches::new();
    for Along { overlap, between } in overlaps {
        let closed = |line: usize| lines[line].polyline.closed;
        let ((a, b), (line_a, line_b)) = (overlap.curves, *between);
        if a == b || (closed(line_a) && closed(line_b)) {
            continue;
        }
        overlap.repaired = true;
        for (own, line, other) in [(a, line_a, line_b), (b, line_b, line_a)] {
            if !closed(line) && !curves[own].polyline.closed {
                all.entry(own).or_default().push(Stretch {
                    from: overlap.from,
                    to: overlap.to,
                    given_up: closed(other),
                });
            }
        }
    }
    all
}

/// The parts of an open run between the ends of its stretches, less those given up.
pub(super) fn parts<'a>(run: &Polyline, stretches: &[Stretch], tolerance: f64) -> Vec<Cow<'a, Polyline>> {
    let end = Place {
        segment: run.segment_count() - 1,
        share: 1.0,
    };
    let mut places: Vec<Place> = stretches
        .iter()
        .flat_map(|stretch| [stretch.from, stretch.to])
        .map(|p| Place::of(run, p, tolerance))
        .collect();
    places.push(Place::START);
    places.push(end);
    places.sort_by(Place::order);
    places.dedup();
    places
        .windows(2)
        .filter(|pair| {
            let middle = pair[0].midway(pair[1]);
            !stretches.iter().any(|stretch| {
                let (p, q) = (
                    Place::of(run, stretch.from, tolerance),
                    Place::of(run, stretch.to, tolerance),
                );
                let (p, q) = if p.order(&q).is_le() { (p, q) } else { (q, p) };
                stretch.given_up && p.order(&middle).is_le() && middle.order(&q).is_le()
            })
        })
        .map(|pair| Cow::Owned(between(run, pair[0], pair[1])))
        .collect()
}

/// A place on a run: a segment, and the share of its length up to here (below 1, but for the end of the run).
#[derive(Clone, Copy, PartialEq)]
struct Place {
    segment: usize,
    share: f64,
}

impl Place {
    const START: Self = Self {
        segment: 0,
        share: 0.0,
    };

    /// The place nearest to `p`; a vertex within the tolerance is taken itself.
    fn of(run: &Polyline, p: Point, tolerance: f64) -> Self {
        let last = run.segment_count() - 1;
        let (segment, _) = run
            .segments()
            .enumerate()
            .map(|(i, s)| (i, s.distance(p)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0, 0.0));
        let s = run.segment(segment);
        if s.from.distance(p) <= tolerance {
            return Self { segment, share: 0.0 };
        }
        if s.to.distance(p) <= tolerance {
            return if segment == last {
                Self { segment, share: 1.0 }
            } else {
                Self {
                    segment: segment + 1,
                    share: 0.0,
                }
            };
        }
        Self {
            segment,
            share: s.share(p),
        }
    }

    fn order(&self, other: &Self) -> std::cmp::Ordering {
        self.segment
            .cmp(&other.segment)
            .then(self.share.total_cmp(&other.share))
    }

    /// A place strictly between two.
    fn midway(self, later: Self) -> Self {
        if self.segment == later.segment {
            Self {
                share: 0.5 * (self.share + later.share),
                ..self
            }
        } else {
            Self {
                share: 0.5 * (self.share + 1.0),
                ..self
            }
        }
    }
}

fn between(run: &Polyline, from: Place, to: Place) -> Polyline {
    let at = |place: Place| run.segment(place.segment).at(place.share);
    let bulge = |segment: usize, part: f64| {
        let whole = run.vertices[segment].bulge;
        if part == 1.0 {
            whole
        } else {
            (whole.atan() * part).tan()
        }
    };
    let mut vertices = Vec::new();
    for segment in from.segment..=to.segment {
        let start = if segment == from.segment { from.share } else { 0.0 };
        let end = if segment == to.segment { to.share } else { 1.0 };
        if end > start {
            vertices.push(Vertex {
                at: at(Place {
                    segment,
                    share: start,
                }),
                bulge: bulge(segment, end - start),
            });
        }
    }
    vertices.push(Vertex {
        at: at(to),
        bulge: 0.0,
    });
    Polyline {
        vertices,
        closed: false,
    }
}
