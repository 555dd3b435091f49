//! Trims open lines that run along others, where that is unambiguous.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::contacts::Along;
use super::draft::DraftContour;
use crate::elementary::{atan, tan};
use crate::geometry::{Point, Polyline, Vertex};

/// A stretch that an open curve gives up, since another one has it too.
#[derive(Clone, Copy)]
pub(super) struct SharedStretch {
    from: Point,
    to: Point,
}

/// The stretches that each open curve gives up.
pub(super) type Stretches = BTreeMap<usize, Vec<SharedStretch>>;

/// Finds what has to be given up to resolve the overlaps of `lines`, which are then marked as repaired:
///
/// - a line that lies on another one from end to end goes;
/// - an open line whose end runs along a loop is cut back to where it leaves the loop;
/// - where two loose ends overlap head on, each within the other, the later one is cut back to the earlier one.
///
/// All other overlaps can be meant in several ways and are left.
pub(super) fn stretches(lines: &[DraftContour], overlaps: &mut [Along], tolerance: f64) -> Stretches {
    let mut pairs: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for (i, along) in overlaps.iter().enumerate() {
        // A place on a curve that runs back along itself would be ambiguous.
        if along.overlap.curves.0 != along.overlap.curves.1 {
            pairs.entry(along.lines).or_default().push(i);
        }
    }
    let mut all = Stretches::new();
    for members in pairs.into_values() {
        for run in runs(overlaps, members, tolerance) {
            let Some(side) = giving_up(lines, overlaps, &run, tolerance) else {
                continue;
            };
            for i in run {
                let Along { overlap, .. } = &mut overlaps[i];
                overlap.repaired = true;
                let curve = if side == 0 {
                    overlap.curves.0
                } else {
                    overlap.curves.1
                };
                all.entry(curve).or_default().push(SharedStretch {
                    from: overlap.from,
                    to: overlap.to,
                });
            }
        }
    }
    all
}

/// Returns the overlaps of two lines, grouped to runs that follow one another along the first line.
fn runs(overlaps: &[Along], mut members: Vec<usize>, tolerance: f64) -> Vec<Vec<usize>> {
    members.sort_by(|&i, &j| overlaps[i].reach[0].0.total_cmp(&overlaps[j].reach[0].0));
    let mut runs: Vec<(f64, Vec<usize>)> = Vec::new();
    for i in members {
        let (start, end) = overlaps[i].reach[0];
        match runs.last_mut() {
            Some((reached, run)) if start <= *reached + tolerance => {
                *reached = reached.max(end);
                run.push(i);
            }
            _ => runs.push((end, vec![i])),
        }
    }
    runs.into_iter().map(|(_, run)| run).collect()
}

/// Decides which of the two lines of a run gives it up: 0 or 1.
fn giving_up(lines: &[DraftContour], overlaps: &[Along], run: &[usize], tolerance: f64) -> Option<usize> {
    let numbers = overlaps[run[0]].lines;
    let pair = [&lines[numbers.0].polyline, &lines[numbers.1].polyline];
    // Which ends of each line the run takes in: start, end.
    let mut ends = [(false, false); 2];
    for (side, line) in pair.iter().enumerate().filter(|(_, line)| !line.closed) {
        let length = line.length();
        for &i in run {
            let (start, end) = overlaps[i].reach[side];
            ends[side].0 |= start <= tolerance;
            ends[side].1 |= end >= length - tolerance;
        }
    }
    let whole = |side: usize| ends[side].0 && ends[side].1;
    let one = |side: usize| ends[side].0 != ends[side].1;
    match (pair[0].closed, pair[1].closed) {
        (true, false) => (ends[1].0 || ends[1].1).then_some(1),
        (false, true) => (ends[0].0 || ends[0].1).then_some(0),
        (false, false) if whole(1) => Some(1),
        (false, false) if whole(0) => Some(0),
        (false, false) if one(0) && one(1) => {
            let loose = |side: usize| {
                let vertices = &pair[side].vertices;
                vertices[if ends[side].0 { 0 } else { vertices.len() - 1 }].at
            };
            // Beginning at one point and parting later is another matter.
            (loose(0).distance(loose(1)) > tolerance).then_some(1)
        }
        (true, true) | (false, false) => None,
    }
}

/// Returns the parts of an open run that are left when it gives up `stretches`.
pub(super) fn parts<'a>(
    run: &Polyline,
    stretches: &[SharedStretch],
    tolerance: f64,
) -> Vec<Cow<'a, Polyline>> {
    let place = |p: Point| RunPlace::of(run, p, tolerance);
    let given_up: Vec<(RunPlace, RunPlace)> = stretches
        .iter()
        .map(|stretch| (place(stretch.from), place(stretch.to)))
        .map(|(p, q)| if p.order(&q).is_le() { (p, q) } else { (q, p) })
        .collect();
    let mut places: Vec<RunPlace> = given_up.iter().flat_map(|&(p, q)| [p, q]).collect();
    places.push(RunPlace::START);
    places.push(RunPlace {
        segment: run.segment_count() - 1,
        share: 1.0,
    });
    places.sort_by(RunPlace::order);
    places.dedup();
    let kept = places.windows(2).filter(|pair| {
        let middle = pair[0].midway(pair[1]);
        !given_up
            .iter()
            .any(|(p, q)| p.order(&middle).is_le() && middle.order(q).is_le())
    });
    kept.map(|pair| Cow::Owned(between(run, pair[0], pair[1])))
        .collect()
}

/// A place on a run: a segment, and the share of its length up to here (below 1, but for the end of the run).
#[derive(Clone, Copy, PartialEq)]
struct RunPlace {
    segment: usize,
    share: f64,
}

impl RunPlace {
    const START: Self = Self {
        segment: 0,
        share: 0.0,
    };

    /// Finds the place nearest to `p`: a vertex where one is within the tolerance.
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

    /// Returns a place strictly between two.
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

fn between(run: &Polyline, from: RunPlace, to: RunPlace) -> Polyline {
    let at = |place: RunPlace| run.segment(place.segment).at(place.share);
    let bulge = |segment: usize, part: f64| {
        let whole = run.vertices[segment].bulge;
        if part == 1.0 {
            whole
        } else {
            tan(atan(whole) * part)
        }
    };
    let mut vertices = Vec::new();
    for segment in from.segment..=to.segment {
        let start = if segment == from.segment { from.share } else { 0.0 };
        let end = if segment == to.segment { to.share } else { 1.0 };
        if end > start {
            vertices.push(Vertex {
                at: at(RunPlace {
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
