//! Points of finished walls for a measuring machine: on the line of the drawing, with the normal out of the material and the place of
//! the probe's ball; none where the wall is not what the last pass leaves along its path.

use serde::Serialize;

use crate::cancel::checkpoint;
use crate::contour::{Contour, Contours, Role};
use crate::elementary::hypot;
use crate::geometry::{Point, Polyline, Segment, SegmentIndex, Vector};
use crate::id::ContourId;
use crate::tolerance::{NUDGE_MM, PATH_MM, SMOOTH_JOINT_RAD};

/// Fewest points on a contour without corners: three tell a circle, a fourth that it is none.
const LEAST_ON_ROUND: usize = 4;

/// How points are laid.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct ProbeOptions {
    /// They lie at most this far apart along a wall, mm.
    pub spacing_mm: f64,
    /// Diameter of the probe's ball, mm.
    pub ball_mm: f64,
}

impl Default for ProbeOptions {
    fn default() -> Self {
        Self {
            spacing_mm: 5.0,
            ball_mm: 1.0,
        }
    }
}

/// What the cut leaves of a contour beside its wall.
pub struct WallTraces<'a> {
    /// The contour.
    pub contour: &'a Contour,
    /// Shift of the wall into the material, mm.
    pub aim_mm: f64,
    /// Offset of the last pass, mm.
    pub offset_mm: f64,
    /// Paths of the last pass.
    pub last_paths: Vec<&'a Polyline>,
    /// Where the stub of a tab, or what the last stretch leaves, stands.
    pub stubs: Vec<PathTrace>,
    /// Where a lead comes onto the path, and on to where it leaves it.
    pub leads: Vec<PathTrace>,
}

/// A stretch of a path, and how far that path runs from the wall.
pub struct PathTrace {
    /// The stretch.
    pub run: Vec<Segment>,
    /// Offset of the path, mm.
    pub offset_mm: f64,
}

/// A point of a wall.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct ProbePoint {
    /// Number of the contour.
    pub contour: ContourId,
    /// Number of the point on it, from 1, in the order along it.
    pub number: usize,
    /// On the line of the drawing, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
    /// Of length 1, out of the material.
    pub normal: [f64; 2],
    /// Middle of the probe's ball when it touches there, mm.
    #[serde(rename = "center_mm")]
    pub center: Point,
    /// What is aimed at, mm along the normal: the aim moves a wall into its material, which is below 0.
    pub target_mm: f64,
}

/// Why there is no point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum NotProbed {
    /// The contour has no path of its last pass.
    WithoutPath,
    /// The wire does not reach there: an inside corner or a narrow place.
    NotReached,
    /// The stub of a tab, or what the last stretch leaves, stands there.
    TabStub,
    /// The lead leaves its witness there.
    LeadWitness,
    /// The ball would touch another wall first.
    BallTouchesElsewhere,
}

/// Points of a contour that are left out for one reason.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct PointsLeftOut {
    /// Number of the contour.
    pub contour: ContourId,
    /// Why.
    pub reason: NotProbed,
    /// How many.
    pub count: usize,
    /// Where the first would lie, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
}

/// Lays points along finished walls, and says which are left out.
pub fn probe_points(
    walls: &[WallTraces<'_>],
    contours: &Contours,
    options: ProbeOptions,
) -> (Vec<ProbePoint>, Vec<PointsLeftOut>) {
    let edges = contours.list.iter().filter(|contour| contour.bounds_material());
    let edges = SegmentIndex::of(edges.map(|edge| &edge.polyline));
    let (mut points, mut left_out) = (Vec::new(), Vec::new());
    for wall in walls.iter().filter(|wall| wall.contour.keeps_known_side()) {
        let prober = WallProber {
            wall,
            edges: &edges,
            paths: SegmentIndex::of(wall.last_paths.iter().copied()),
            radius_mm: 0.5 * options.ball_mm,
        };
        let mut reasons: Vec<PointsLeftOut> = Vec::new();
        let mut number = 0;
        for (at, along) in places(&wall.contour.polyline, options.spacing_mm) {
            checkpoint();
            match prober.point(at, along) {
                Ok(point) => {
                    number += 1;
                    points.push(ProbePoint { number, ..point });
                }
                Err(reason) => match reasons.iter_mut().find(|known| known.reason == reason) {
                    Some(known) => known.count += 1,
                    None => reasons.push(PointsLeftOut {
                        contour: wall.contour.id,
                        reason,
                        count: 1,
                        at,
                    }),
                },
            }
        }
        reasons.sort_by_key(|left| left.reason);
        left_out.extend(reasons);
    }
    (points, left_out)
}

/// Places along a loop, at most `spacing_mm` apart, each in the middle of its share of a stretch without corners, with the direction
/// there. Of stretches shorter than half of that only as many have one as lie half of it apart.
fn places(polyline: &Polyline, spacing_mm: f64) -> Vec<(Point, Vector)> {
    let of = polyline.segment_count();
    let is_corner = |i: usize| {
        let before = polyline.segment((i + of - 1) % of).direction(1.0);
        before.turn_to(polyline.segment(i).direction(0.0)).abs() >= SMOOTH_JOINT_RAD
    };
    let corners: Vec<usize> = (0..of).filter(|&i| is_corner(i)).collect();
    let (begins, least) = if corners.is_empty() {
        (vec![0], LEAST_ON_ROUND)
    } else {
        (corners, 1)
    };
    let ends = begins.iter().skip(1).copied().chain([begins[0] + of]);
    let mut places = Vec::new();
    let mut since_mm = f64::INFINITY;
    for (&first, next) in begins.iter().zip(ends) {
        let stretch: Vec<Segment> = (first..next).map(|i| polyline.segment(i % of)).collect();
        let length_mm: f64 = stretch.iter().map(|segment| segment.length()).sum();
        let count = ((length_mm / spacing_mm).ceil() as usize).max(least);
        let step_mm = length_mm / count as f64;
        if length_mm < 0.5 * spacing_mm && since_mm + 0.5 * length_mm < 0.5 * spacing_mm {
            since_mm += length_mm;
            continue;
        }
        let mut begins_mm = 0.0;
        let mut next = 0;
        for segment in stretch {
            let ends_mm = begins_mm + segment.length();
            while next < count {
                let at_mm = (next as f64 + 0.5) * step_mm;
                if at_mm > ends_mm {
                    break;
                }
                let share = ((at_mm - begins_mm) / segment.length()).clamp(0.0, 1.0);
                places.push((segment.at(share), segment.direction(share)));
                next += 1;
            }
            begins_mm = ends_mm;
        }
        since_mm = 0.5 * step_mm;
    }
    places
}

/// What a point of a wall is held against.
struct WallProber<'a> {
    wall: &'a WallTraces<'a>,
    /// All edges of the drawing.
    edges: &'a SegmentIndex,
    /// The paths of the last pass.
    paths: SegmentIndex,
    /// Radius of the probe's ball, mm.
    radius_mm: f64,
}

impl WallProber<'_> {
    fn point(&self, at: Point, along: Vector) -> Result<ProbePoint, NotProbed> {
        // A loop runs counter-clockwise: what lies inside is on its left.
        let normal = match self.wall.contour.role {
            Role::Outside => -along.left(),
            Role::Opening | Role::Open => along.left(),
        };
        let center = at + normal * self.radius_mm;
        if self.wall.last_paths.is_empty() {
            return Err(NotProbed::WithoutPath);
        }
        // A path is verified to `PATH_MM`.
        let reach_mm = self.wall.offset_mm + 2.0 * PATH_MM;
        if self.paths.nearest_within(at, reach_mm).is_none() {
            return Err(NotProbed::NotReached);
        }
        if self.is_beside(&self.wall.stubs, at) {
            return Err(NotProbed::TabStub);
        }
        if self.is_beside(&self.wall.leads, at) {
            return Err(NotProbed::LeadWitness);
        }
        if self
            .edges
            .nearest_within(center, self.radius_mm - NUDGE_MM)
            .is_some()
        {
            return Err(NotProbed::BallTouchesElsewhere);
        }
        Ok(ProbePoint {
            contour: self.wall.contour.id,
            number: 0,
            at,
            normal: [normal.x, normal.y],
            center,
            target_mm: -self.wall.aim_mm,
        })
    }

    /// Whether the ball would come onto what such a trace leaves: along a straight wall nearer to it than its radius.
    fn is_beside(&self, traces: &[PathTrace], at: Point) -> bool {
        traces.iter().any(|trace| {
            let reach_mm = hypot(trace.offset_mm, self.radius_mm);
            trace.run.iter().any(|segment| segment.distance(at) <= reach_mm)
        })
    }
}

#[cfg(test)]
mod tests;
