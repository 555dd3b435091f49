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
mod room;
mod simple;
mod stretch;
#[cfg(test)]
mod tests;

use crate::geometry::{Parting, Point, Polyline, Segment, SegmentIndex};
use crate::tolerance::{CRUMB_MM, NUDGE_MM, PATH_MM, SAME_POINT_MM};

pub(super) use complete::just_fits;
pub use flaw::PathFault;
pub(super) use flaw::PathFlaw;
use simple::simple;
pub(super) use simple::{crossing, touching};
use stretch::{Near, near_each};

/// A bound is taken for the value when it is this near to it.
const TIGHT_MM: f64 = PATH_MM / 50.0;

/// What one wall says of a segment is taken without a look at the others when it is this near to the offset.
const EXACT_MM: f64 = 2.0 * SAME_POINT_MM;

/// As [`TIGHT_MM`], where as many walls as this are within reach.
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
        let mut last = 0;
        near_each(
            index.segments(),
            self.contour,
            self.distance + PATH_MM,
            self.distance,
            |_, segment, near| {
                let along = self.along_one(segment, near, &mut last);
                worst = worst.max(self.sound(segment, near, along)?);
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

    /// The wall that a segment of the path follows, and a bound of how far it strays from that: the one that the segment before
    /// followed, one of the next two, or the one nearest to its middle. `None` where that does not bound the whole segment.
    fn along_one(&self, segment: Segment, near: &[Near], last: &mut usize) -> Option<(Segment, f64)> {
        let walls = self.contour.segments();
        let n = walls.len();
        let turns = [0, 1, 2].map(|ahead| {
            if self.outside {
                *last + ahead
            } else {
                *last + n - ahead.min(n)
            }
        });
        let turns = turns.map(|i| if i < n { i } else { i - n });
        let mut bounded = |i: usize| {
            *last = i;
            let enough = self.distance + EXACT_MM;
            // Mostly the end tells that the path goes on along the next wall.
            if walls[i].distance(segment.to) > enough {
                return None;
            }
            let bound = segment.farthest_from(walls[i]);
            (bound <= enough).then_some((walls[i], bound))
        };
        turns
            .into_iter()
            .filter(|&i| i < n)
            .find_map(&mut bounded)
            .or_else(|| {
                let at = segment.middle();
                let away = |wall: &&Near| wall.segment.distance(at);
                let nearest = near.iter().min_by(|a, b| away(a).total_cmp(&away(b)))?;
                bounded(nearest.number)
            })
    }

    /// The largest deviation of one segment of the path, from the walls near it. Most are known to be no nearer than the offset by their
    /// middles, most others by a strip between the two; what that does not settle is measured.
    fn sound(
        &self,
        segment: Segment,
        near: &[Near],
        along_one: Option<(Segment, f64)>,
    ) -> Result<f64, PathFlaw> {
        let reach = self.distance + PATH_MM;
        let at = segment.middle();
        let clear = self.distance + segment.half_extent();
        let (parting, parted) = (Parting::new(segment), self.distance - EXACT_MM);
        let mut worst = 0.0f64;
        for wall in near {
            // A distance changes by no more than the way moved: this wall is nowhere nearer than the offset.
            let (away, clear) = (wall.middle - at, clear + wall.half_extent);
            if away.dot(away) >= clear * clear {
                continue;
            }
            let mut clearance = parting.width(wall.segment, parted);
            if clearance < parted {
                clearance = Parting::new(wall.segment).width(segment, parted).max(clearance);
            }
            if clearance < parted {
                let (measured, at, _) = segment.closest(wall.segment);
                if measured < self.distance - PATH_MM {
                    return Err(PathFlaw {
                        at,
                        fault: PathFault::TooNear,
                    });
                }
                clearance = measured;
            }
            worst = worst.max(self.distance - clearance);
        }
        let farthest = if let Some((_, bound)) = along_one {
            Ok(bound)
        } else {
            let walls = walls_near(near, segment, reach);
            if walls.len() < MANY_WALLS {
                distance_bound(segment, &walls, reach)
            } else {
                self.bound_by_nearest(segment)
            }
        }
        .map_err(|at| PathFlaw {
            at,
            fault: PathFault::TooFar,
        })?;
        let left = segment.direction(0.5).left();
        let on_left = |wall: Segment| {
            let foot = wall.nearest(at) - at;
            foot.length() <= reach && foot.dot(left) > 0.5 * self.distance
        };
        let forwards = along_one.is_some_and(|(wall, _)| on_left(wall));
        if segment.length() > PATH_MM && !forwards && !near.iter().any(|wall| on_left(wall.segment)) {
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

/// Those of the walls `near` several segments that may come within `reach` of one of them.
fn walls_near(near: &[Near], segment: Segment, reach: f64) -> Vec<Segment> {
    let bounds = segment.bounds();
    let walls = near.iter().map(|wall| wall.segment);
    walls
        .filter(|wall| wall.bounds().is_within(reach, bounds))
        .collect()
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
