//! The independent judge of every path. It shares no code with the library that makes paths.
//!
//! A path of signed offset d (positive: outside) of a counter-clockwise loop is accepted when it is
//!
//! * *sound*: no point of it is nearer to the loop than |d| − [`PATH_MM`] nor farther from it than
//!   |d| + [`PATH_MM`], it lies on the right side, and runs with the kept material on its left;
//! * *complete*: every point at distance |d| from the loop, on that side, is within [`PATH_MM`] of it.
//!   A point with two walls at |d| opposite to one another (within [`PATH_MM`]) may be missing: the wire just
//!   fits, or just does not;
//! * *simple*: it does not cross itself nor run twice along the same line.
//!
//! Both halves are decided for whole segments, not for samples: a segment is halved until a bound that holds
//! for all of its points decides. Only neighbours found through an index are looked at, so the cost is near
//! n log n.

use crate::geometry::{Point, Polyline, Segment, SegmentIndex};
use crate::tolerance::{CRUMB_MM, PATH_MM, SAME_POINT_MM};

/// A bound is taken for the value when it is this near to it.
const TIGHT_MM: f64 = PATH_MM / 50.0;

/// Two feet on the contour are opposite walls, not neighbours, when the directions to them differ by more
/// than the angle with this cosine (30°).
const OPPOSITE_COS: f64 = 0.866;

/// What is wrong with a path, and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Flaw {
    /// Where.
    pub(super) at: Point,
    /// What.
    pub(super) fault: Fault,
}

/// What may be wrong with a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// Nearer to the contour than the offset.
    TooNear,
    /// Farther from the contour than the offset.
    TooFar,
    /// On the other side of the contour.
    WrongSide,
    /// Runs with the kept material on its right.
    Backwards,
    /// A place at the offset from the contour is not on the path.
    Missing,
    /// Runs twice along one line.
    Doubled,
    /// Crosses itself.
    Crosses,
}

impl Fault {
    /// In words, for "the path …".
    pub(super) fn words(self) -> &'static str {
        match self {
            Self::TooNear => "comes nearer to the contour than the offset",
            Self::TooFar => "strays farther from the contour than the offset",
            Self::WrongSide => "lies on the wrong side of the contour",
            Self::Backwards => "runs the wrong way round",
            Self::Missing => "leaves out a place that the wire can reach",
            Self::Doubled => "runs twice along the same line",
            Self::Crosses => "crosses itself",
        }
    }
}

/// Judges paths of one contour at one offset.
pub(super) struct Verifier<'a> {
    contour: &'a SegmentIndex,
    distance: f64,
    outside: bool,
}

impl<'a> Verifier<'a> {
    /// A judge for paths at signed `offset_mm` from the loop in `contour`, which runs counter-clockwise and
    /// has no arc of more than a half turn.
    pub(super) fn new(contour: &'a SegmentIndex, offset_mm: f64) -> Self {
        Self {
            contour,
            distance: offset_mm.abs(),
            outside: offset_mm > 0.0,
        }
    }

    /// The largest deviation from the offset of any point of the path, mm, or the first flaw found.
    pub(super) fn verify(&self, path: &[Polyline]) -> Result<f64, Flaw> {
        let index = SegmentIndex::of(path);
        let mut worst = 0.0f64;
        for polyline in path {
            let at = polyline.segment(0).at(0.5);
            let by_nearest = polyline.segments().find_map(|s| self.side_by_nearest(s.at(0.5)));
            let right_side = by_nearest.map_or_else(|| self.on_side(at), |outside| outside == self.outside);
            if !right_side {
                return Err(Flaw {
                    at,
                    fault: Fault::WrongSide,
                });
            }
        }
        for &segment in index.segments() {
            worst = worst.max(self.sound(segment)?);
        }
        for element in self.raw_elements() {
            self.covered(element, &index)?;
        }
        simple(&index)?;
        Ok(worst)
    }

    fn on_side(&self, p: Point) -> bool {
        self.contour.winding(p) == i32::from(!self.outside)
    }

    /// Whether `p` lies outside the contour, as told by the wall nearest to it within the distance: the way there
    /// crosses no other wall. `None` where the nearest point of the wall is one of its ends.
    fn side_by_nearest(&self, p: Point) -> Option<bool> {
        let (i, foot, _) = self.contour.nearest_within(p, self.distance + PATH_MM)?;
        let wall = self.contour.segments()[i];
        let inner = foot.distance(wall.from).min(foot.distance(wall.to)) > CRUMB_MM;
        inner.then(|| wall.direction(wall.parameter(foot)).cross(p - foot) < 0.0)
    }

    fn sound(&self, segment: Segment) -> Result<f64, Flaw> {
        let reach = self.distance + PATH_MM;
        let walls = around(self.contour, segment, reach);
        let mut worst = 0.0f64;
        for &wall in &walls {
            let (clearance, at, _) = segment.closest(wall);
            if clearance < self.distance - PATH_MM {
                return Err(Flaw {
                    at,
                    fault: Fault::TooNear,
                });
            }
            worst = worst.max(self.distance - clearance);
        }
        let farthest = within(segment, &walls, reach).map_err(|at| Flaw {
            at,
            fault: Fault::TooFar,
        })?;
        let at = segment.at(0.5);
        let left = segment.direction(0.5).left();
        let on_left = |wall: &Segment| {
            let foot = wall.nearest(at) - at;
            foot.length() <= reach && foot.dot(left) > 0.5 * self.distance
        };
        if segment.length() > PATH_MM && !walls.iter().any(on_left) {
            return Err(Flaw {
                at,
                fault: Fault::Backwards,
            });
        }
        Ok(worst.max(farthest - self.distance))
    }

    /// The curves on which every point at the distance lies: a parallel of each segment, an arc round each
    /// corner that juts out towards the wire; each runs with the contour on its left.
    fn raw_elements(&self) -> impl Iterator<Item = Segment> + '_ {
        let segments = self.contour.segments();
        let n = segments.len();
        let walk = move |s: Segment| if self.outside { s } else { s.reversed() };
        let parallels = segments
            .iter()
            .filter_map(move |&s| walk(s).parallel(self.distance));
        let corners = (0..n).filter_map(move |i| {
            let (before, after) = (segments[i], segments[(i + 1) % n]);
            let (before, after) = if self.outside {
                (before, after)
            } else {
                (walk(after), walk(before))
            };
            Segment::around_corner(before, after, self.distance)
        });
        parallels.chain(corners)
    }

    fn covered(&self, element: Segment, path: &SegmentIndex) -> Result<(), Flaw> {
        let pieces = around(path, element, PATH_MM);
        if on_path(element, &pieces) {
            return Ok(());
        }
        let walls = around(self.contour, element, self.distance + PATH_MM);
        self.covered_by(element, &walls, &pieces)
    }

    fn covered_by(&self, element: Segment, walls: &[Segment], pieces: &[Segment]) -> Result<(), Flaw> {
        if on_path(element, pieces) || walls.iter().any(|&wall| self.rules_out(element, wall)) {
            return Ok(());
        }
        // What lies on the other side of the contour is none of this path's business. The full answer costs a look
        // along a whole ray, so the nearest wall is asked first.
        let at = element.at(0.5);
        let elsewhere = self.side_by_nearest(at) == Some(!self.outside)
            && !self.on_side(at)
            && walls.iter().all(|&wall| element.clearance(wall) > 0.0);
        if elsewhere {
            return Ok(());
        }
        if element.length() > PATH_MM / 4.0 {
            return element.halves().into_iter().try_for_each(|half| {
                self.covered_by(
                    half,
                    &near(walls, half, self.distance + PATH_MM),
                    &near(pieces, half, PATH_MM),
                )
            });
        }
        let away = pieces
            .iter()
            .map(|piece| piece.distance(at))
            .fold(f64::INFINITY, f64::min);
        let nearer = walls
            .iter()
            .any(|wall| wall.distance(at) < self.distance - SAME_POINT_MM);
        if away > PATH_MM && !nearer && self.on_side(at) {
            return Err(Flaw {
                at,
                fault: Fault::Missing,
            });
        }
        Ok(())
    }

    /// Whether `wall` forbids the wire all along `element`, or leaves it no more than [`PATH_MM`] of room
    /// opposite to the wall that `element` follows.
    fn rules_out(&self, element: Segment, wall: Segment) -> bool {
        let farthest = element.farthest_from(wall);
        let opposite = |t: f64| {
            let at = element.at(t);
            let to_wall = wall.nearest(at) - at;
            element.direction(t).left().dot(to_wall) < OPPOSITE_COS * to_wall.length()
        };
        farthest < self.distance - SAME_POINT_MM
            || (farthest <= self.distance + PATH_MM && [0.0, 0.5, 1.0].into_iter().all(opposite))
    }
}

/// An upper bound, within [`TIGHT_MM`], of the largest distance from a point of `segment` to the nearest of
/// `others`; or a point of it for which the distance cannot be shown to stay within `limit`.
fn within(segment: Segment, others: &[Segment], limit: f64) -> Result<f64, Point> {
    let at = segment.at(0.5);
    let here = others
        .iter()
        .map(|other| other.distance(at))
        .fold(f64::INFINITY, f64::min);
    if here > limit {
        return Err(at);
    }
    let bound = others
        .iter()
        .map(|&other| segment.farthest_from(other))
        .fold(f64::INFINITY, f64::min);
    if bound <= here + TIGHT_MM && bound <= limit {
        return Ok(bound);
    }
    if segment.length() <= TIGHT_MM {
        return Err(at);
    }
    segment.halves().into_iter().try_fold(0.0f64, |worst, half| {
        Ok(worst.max(within(half, &near(others, half, limit), limit)?))
    })
}

/// Whether all of `element` is within [`PATH_MM`] of one of `pieces`.
fn on_path(element: Segment, pieces: &[Segment]) -> bool {
    pieces
        .iter()
        .any(|&piece| element.farthest_from(piece) <= PATH_MM)
}

/// The segments of `index` that may come within `reach` of `segment`.
fn around(index: &SegmentIndex, segment: Segment, reach: f64) -> Vec<Segment> {
    let numbers = index.around(segment.bounds(), reach);
    numbers.into_iter().map(|i| index.segments()[i]).collect()
}

/// Those of `others` that may come within `reach` of `segment`.
fn near(others: &[Segment], segment: Segment, reach: f64) -> Vec<Segment> {
    let bounds = segment.bounds().grown(reach);
    others
        .iter()
        .copied()
        .filter(|other| other.bounds().overlaps(bounds))
        .collect()
}

/// Neither crossings nor lines run twice.
fn simple(path: &SegmentIndex) -> Result<(), Flaw> {
    for (i, &segment) in path.segments().iter().enumerate() {
        let long = segment.length() > 4.0 * PATH_MM;
        let at = segment.at(0.5);
        for j in path.near(segment.bounds().grown(PATH_MM)).filter(|&j| j != i) {
            let other = path.segments()[j];
            let foot = other.nearest(at);
            let same_way = || other.direction(other.parameter(foot)).dot(segment.direction(0.5)) > 0.9;
            if long && at.distance(foot) <= PATH_MM && same_way() {
                return Err(Flaw {
                    at,
                    fault: Fault::Doubled,
                });
            }
        }
    }
    match crossing(path) {
        Some(at) => Err(Flaw {
            at,
            fault: Fault::Crosses,
        }),
        None => Ok(()),
    }
}

/// Where loops cross themselves or one another well away from the ends of segments, and not at a glance.
pub(super) fn crossing(index: &SegmentIndex) -> Option<Point> {
    let segments = index.segments();
    (0..segments.len()).find_map(|i| {
        index
            .near(segments[i].bounds())
            .filter(|&j| j > i)
            .find_map(|j| crossing_of(segments[i], segments[j]))
    })
}

fn crossing_of(a: Segment, b: Segment) -> Option<Point> {
    let inner = |at: Point| {
        [a.from, a.to, b.from, b.to]
            .into_iter()
            .all(|end| end.distance(at) > 2.0 * PATH_MM)
            && a.direction(a.parameter(at))
                .cross(b.direction(b.parameter(at)))
                .abs()
                > 0.01
    };
    a.crossings(b).into_iter().flatten().find(|&at| inner(at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Vector, Vertex};

    const OFFSET: f64 = 0.125;

    /// Two rooms with a passage that the wire passes.
    fn rooms() -> Polyline {
        Polyline::closed([
            (0.0, 0.0, 0.0),
            (4.0, 0.0, 0.0),
            (4.0, 1.8, 0.0),
            (6.0, 1.8, 0.0),
            (6.0, 0.0, 0.0),
            (10.0, 0.0, 0.0),
            (10.0, 4.0, 0.0),
            (6.0, 4.0, 0.0),
            (6.0, 2.2, 0.0),
            (4.0, 2.2, 0.0),
            (4.0, 4.0, 0.0),
            (0.0, 4.0, 0.0),
        ])
    }

    fn verdict(offset_mm: f64, path: &[Polyline]) -> Result<f64, Fault> {
        let index = SegmentIndex::of([&rooms()]);
        Verifier::new(&index, offset_mm)
            .verify(path)
            .map_err(|flaw| flaw.fault)
    }

    fn right_answer(offset_mm: f64) -> Polyline {
        crate::path::offset(&rooms(), offset_mm)
            .expect("verified")
            .loops
            .remove(0)
    }

    #[test]
    fn the_right_path_passes_from_any_start() {
        for offset_mm in [OFFSET, -OFFSET] {
            let mut path = right_answer(offset_mm);
            for _ in 0..path.vertices.len() {
                path.vertices.rotate_left(1);
                assert!(verdict(offset_mm, std::slice::from_ref(&path)).expect("passes") < 1e-9);
            }
        }
    }

    #[test]
    fn each_vertex_moved_by_a_micrometre_is_seen() {
        let path = right_answer(-OFFSET);
        for i in 0..path.vertices.len() {
            for by in [Vector::new(0.8e-3, 0.6e-3), Vector::new(-0.8e-3, 0.6e-3)] {
                let mut wrong = path.clone();
                wrong.vertices[i].at = wrong.vertices[i].at + by;
                let fault = verdict(-OFFSET, &[wrong]).expect_err("a micrometre off");
                assert!(matches!(fault, Fault::TooNear | Fault::TooFar), "{fault:?}");
            }
        }
    }

    #[test]
    fn each_bulge_that_rises_a_micrometre_is_seen() {
        let path = right_answer(OFFSET);
        for i in 0..path.vertices.len() {
            for rise in [1e-3, -1e-3] {
                let mut wrong = path.clone();
                wrong.vertices[i].bulge += 2.0 * rise / path.segment(i).chord();
                verdict(OFFSET, &[wrong]).expect_err("a micrometre off");
            }
        }
    }

    #[test]
    fn each_vertex_left_out_is_seen() {
        let path = right_answer(-OFFSET);
        for i in 0..path.vertices.len() {
            let mut wrong = path.clone();
            wrong.vertices.remove(i);
            verdict(-OFFSET, &[wrong]).expect_err("a corner cut off");
        }
    }

    #[test]
    fn a_room_left_out_is_seen() {
        // The left room alone, shut off where the passage begins, as if the neck were too narrow.
        assert_eq!(verdict(-OFFSET, &[]), Err(Fault::Missing));
        let narrow = crate::path::offset(&rooms(), -0.21).expect("two loops").loops;
        assert_eq!(narrow.len(), 2);
        let index = SegmentIndex::of([&rooms()]);
        let verifier = Verifier::new(&index, -0.21);
        assert!(verifier.verify(&narrow).is_ok());
        for one in &narrow {
            let flaw = verifier
                .verify(std::slice::from_ref(one))
                .expect_err("the other room is missing");
            assert_eq!(flaw.fault, Fault::Missing);
            assert!(!one.bounds().contains(flaw.at));
        }
    }

    #[test]
    fn sides_ways_and_repeats_are_told_apart() {
        let (outside, inside) = (right_answer(OFFSET), right_answer(-OFFSET));
        assert_eq!(
            verdict(-OFFSET, std::slice::from_ref(&outside)),
            Err(Fault::WrongSide)
        );
        assert_eq!(
            verdict(OFFSET, std::slice::from_ref(&inside)),
            Err(Fault::WrongSide)
        );
        assert_eq!(verdict(OFFSET, &[outside.reversed()]), Err(Fault::Backwards));
        assert_eq!(verdict(-OFFSET, &[inside.reversed()]), Err(Fault::Backwards));
        assert_eq!(verdict(OFFSET, &[outside.clone(), outside]), Err(Fault::Doubled));
    }

    #[test]
    fn a_spike_out_and_back_is_seen() {
        let mut path = right_answer(OFFSET);
        let first = path.vertices[0];
        let back = path.segment(0).at(0.5);
        path.vertices.splice(
            1..1,
            [
                Vertex {
                    at: path.segment(0).at(0.8),
                    bulge: 0.0,
                },
                Vertex { at: back, bulge: 0.0 },
            ],
        );
        assert_eq!(path.vertices[0], first);
        verdict(OFFSET, &[path]).expect_err("runs back on itself");
    }

    #[test]
    fn two_segments_that_cross_are_seen() {
        let index = SegmentIndex::of([&Polyline::closed([
            (0.0, 0.0, 0.0),
            (4.0, 4.0, 0.0),
            (4.0, 0.0, 0.0),
            (0.0, 3.0, 0.0),
        ])]);
        assert_eq!(simple(&index).map_err(|flaw| flaw.fault), Err(Fault::Crosses));
    }
}
