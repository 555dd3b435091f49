//! Whether a path crosses itself or runs twice along one line.

use std::ops::ControlFlow;

use super::stretch::{Near, near_each};
use super::{PathFault, PathFlaw};
use crate::geometry::{Point, Segment, SegmentIndex};
use crate::tolerance::{PATH_MM, ROUNDING, SAME_POINT_MM};

/// Neither crossings nor lines run twice, in a path at `distance` mm from its contour.
pub(super) fn simple(path: &SegmentIndex, distance: f64) -> Result<(), PathFlaw> {
    let mut crosses = None;
    near_each(path.segments(), path, PATH_MM, distance, |i, segment, near| {
        let long = segment.length() > 4.0 * PATH_MM;
        let (at, reach) = (segment.middle(), segment.half_extent() + PATH_MM);
        // A distance changes by no more than the way moved.
        let near_by = |other: &&Near| {
            let (away, reach) = (other.middle - at, reach + other.half_extent);
            other.number != i && away.dot(away) <= reach * reach
        };
        for &Near {
            number: j,
            segment: other,
            middle,
            half_extent,
        } in near.iter().filter(near_by)
        {
            if long && at.distance(middle) <= PATH_MM + half_extent {
                let foot = other.nearest(at);
                let same_way = || other.direction(other.parameter(foot)).dot(segment.direction(0.5)) > 0.9;
                if at.distance(foot) <= PATH_MM && same_way() {
                    return Err(PathFlaw {
                        at,
                        fault: PathFault::Doubled,
                    });
                }
            }
            if j > i && crosses.is_none() {
                crosses = crossing_of(segment, other);
            }
        }
        Ok(())
    })?;
    match crosses {
        Some(at) => Err(PathFlaw {
            at,
            fault: PathFault::Crosses,
        }),
        None => Ok(()),
    }
}

/// Where loops cross themselves or one another well away from the ends of segments, and not at a glance.
pub(in crate::toolpath) fn crossing(index: &SegmentIndex) -> Option<Point> {
    let segments = index.segments();
    let mut nodes = Vec::new();
    (0..segments.len()).find_map(|i| {
        let mut crosses = None;
        index.visit_near(segments[i].bounds(), &mut nodes, |j| {
            if j > i {
                crosses = crossing_of(segments[i], segments[j]);
            }
            crosses.map_or(ControlFlow::Continue(()), |_| ControlFlow::Break(()))
        });
        crosses
    })
}

/// Where one loop meets itself, be it at the end of a segment of a micrometre: what a polygon library calls not simple.
pub(in crate::toolpath) fn touching(index: &SegmentIndex) -> Option<Point> {
    let segments = index.segments();
    let n = segments.len();
    (0..n).find_map(|i| {
        let (here, next) = (segments[i], segments[(i + 1) % n]);
        let (out, on) = (here.direction(1.0), next.direction(0.0));
        if out.dot(on) < 0.0 && out.cross(on).abs() < ROUNDING {
            return Some(here.to);
        }
        let mut others = index.near(here.bounds()).filter(|&j| j > i + 1 && j + 1 - i < n);
        others.find_map(|j| {
            let (apart, at, _) = here.closest(segments[j]);
            (apart < SAME_POINT_MM).then_some(at)
        })
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
    // No place of a shorter one is that far from both of its ends.
    if a.length().min(b.length()) <= 4.0 * PATH_MM {
        return None;
    }
    a.crossings(b).into_iter().flatten().find(|&at| inner(at))
}
