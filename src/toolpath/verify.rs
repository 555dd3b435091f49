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

mod complete;
mod flaw;
mod simple;
mod stretch;
#[cfg(test)]
mod tests;

use crate::geometry::{Point, Polyline, Segment, SegmentIndex};
use crate::tolerance::{CRUMB_MM, NUDGE_MM, PATH_MM, SAME_POINT_MM};

pub(super) use complete::just_fits;
pub use flaw::PathFault;
pub(super) use flaw::PathFlaw;
use simple::simple;
pub(super) use simple::{crossing, touching};
use stretch::near_each;

/// A bound is taken for the value when it is this near to it.
const TIGHT_MM: f64 = PATH_MM / 50.0;

/// The same where as many walls as this are within reach.
const CRUMBS_TIGHT_MM: f64 = PATH_MM / 10.0;

/// As many walls within reach of one segment of a path are crumbs: halving it costs less than looking at all of them.
const MANY_WALLS: usize = 48;

/// Judges paths of one contour at one offset.
pub(super) struct Verifier<'a> {
    contour: &'a SegmentIndex,
    distance: f64,
    outside: bool,
    /// A path may leave out a place where an opposite wall leaves it no more room than this, mm.
    room_mm: f64,
}

impl<'a> Verifier<'a> {
    /// A judge for paths at signed `offset_mm` from the loop in `contour`, which runs counter-clockwise and has no arc of more than a half
    /// turn.
    pub(super) fn new(contour: &'a SegmentIndex, offset_mm: f64) -> Self {
        Self {
            contour,
            distance: offset_mm.abs(),
            outside: offset_mm > 0.0,
            room_mm: PATH_MM,
        }
    }

    /// As [`Self::new`], but a slot that is just wide enough may not be left out.
    pub(super) fn strict(contour: &'a SegmentIndex, offset_mm: f64) -> Self {
        Self {
            room_mm: NUDGE_MM,
            ..Self::new(contour, offset_mm)
        }
    }

    /// The largest deviation from the offset of any point of the path, mm, or the first flaw found.
    pub(super) fn verify(&self, path: &[Polyline]) -> Result<f64, PathFlaw> {
        let index = SegmentIndex::of(path);
        let mut worst = 0.0f64;
        for polyline in path {
            let at = polyline.segment(0).at(0.5);
            let by_nearest = polyline.segments().find_map(|s| self.side_by_nearest(s.at(0.5)));
            let right_side = by_nearest.map_or_else(|| self.on_side(at), |outside| outside == self.outside);
            if !right_side {
                return Err(PathFlaw {
                    at,
                    fault: PathFault::WrongSide,
                });
            }
        }
        let mut walls = Vec::new();
        let reach = self.distance + PATH_MM;
        near_each(
            index.segments(),
            self.contour,
            reach,
            self.distance,
            |_, segment, near| {
                walls.clear();
                walls.extend(near.iter().map(|wall| wall.segment));
                worst = worst.max(self.sound(segment, &walls)?);
                Ok(())
            },
        )?;
        self.complete(&index)?;
        simple(&index, self.distance)?;
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

    /// The largest deviation of one segment of the path, from the walls within reach of it.
    fn sound(&self, segment: Segment, walls: &[Segment]) -> Result<f64, PathFlaw> {
        let reach = self.distance + PATH_MM;
        let (at, half) = (segment.at(0.5), 0.5 * segment.length());
        let mut worst = 0.0f64;
        let mut nearest = (f64::INFINITY, None);
        for &wall in walls {
            let to_middle = wall.distance(at);
            if to_middle < nearest.0 {
                nearest = (to_middle, Some(wall));
            }
            // A distance changes by no more than the way moved: this wall is nowhere nearer than the offset.
            if to_middle - half >= self.distance {
                continue;
            }
            let (clearance, at, _) = segment.closest(wall);
            if clearance < self.distance - PATH_MM {
                return Err(PathFlaw {
                    at,
                    fault: PathFault::TooNear,
                });
            }
            worst = worst.max(self.distance - clearance);
        }
        // One wall mostly bounds the whole segment: the one that it follows.
        let along_one = nearest
            .1
            .map(|wall| segment.farthest_from(wall))
            .filter(|&bound| bound <= self.distance + SAME_POINT_MM);
        let farthest = match along_one {
            Some(bound) => Ok(bound),
            None if walls.len() < MANY_WALLS => distance_bound(segment, walls, reach),
            None => self.bound_by_nearest(segment),
        }
        .map_err(|at| PathFlaw {
            at,
            fault: PathFault::TooFar,
        })?;
        let left = segment.direction(0.5).left();
        let on_left = |wall: &Segment| {
            let foot = wall.nearest(at) - at;
            foot.length() <= reach && foot.dot(left) > 0.5 * self.distance
        };
        if segment.length() > PATH_MM && !walls.iter().any(on_left) {
            return Err(PathFlaw {
                at,
                fault: PathFault::Backwards,
            });
        }
        Ok(worst.max(farthest - self.distance))
    }

    /// As [`distance_bound`], within [`CRUMBS_TIGHT_MM`], by the wall nearest to the middle alone.
    fn bound_by_nearest(&self, segment: Segment) -> Result<f64, Point> {
        let (at, limit) = (segment.at(0.5), self.distance + PATH_MM);
        let (wall, _, here) = self.contour.nearest_within(at, limit).ok_or(at)?;
        let bound = segment.farthest_from(self.contour.segments()[wall]);
        if bound <= here + CRUMBS_TIGHT_MM && bound <= limit {
            return Ok(bound);
        }
        if segment.length() <= TIGHT_MM {
            return Err(at);
        }
        segment
            .halves()
            .into_iter()
            .try_fold(0.0f64, |worst, half| Ok(worst.max(self.bound_by_nearest(half)?)))
    }
}

/// An upper bound, within [`TIGHT_MM`], of the largest distance from a point of `segment` to the nearest of
/// `others`; or a point of it for which the distance cannot be shown to stay within `limit`.
fn distance_bound(segment: Segment, others: &[Segment], limit: f64) -> Result<f64, Point> {
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
        Ok(worst.max(distance_bound(half, &near(others, half, limit), limit)?))
    })
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
