//! Measures corners and radii of a contour, as the wire meets them.

use super::{Contour, Role};
use crate::geometry::{Point, Polyline, Segment};
use crate::tolerance::{SHARP_CORNER_RAD, SMOOTH_JOINT_RAD};

/// A sharp corner that the wire has to go round on the inside of.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Corner {
    /// Where.
    pub at: Point,
    /// Angle between the two walls on the wire's side, radians, below π.
    pub angle_rad: f64,
    /// The segment that starts there.
    pub segment: usize,
}

impl Contour {
    /// Returns the arcs that the wire has to go round on the inside of, with the number of their segment.
    pub fn inside_arcs(&self) -> impl Iterator<Item = (usize, Segment)> + '_ {
        let turn = inside_turn(self.role);
        let arcs = self.polyline.segments().enumerate();
        arcs.filter(move |(_, s)| s.is_arc() && s.bulge * turn > 0.0)
    }
}

/// Returns the sense of a turn that the wire goes round on the inside of; 0 for an open contour. Loops run
/// counter-clockwise, so an opening is on the left of its line and the wire with it.
fn inside_turn(role: Role) -> f64 {
    match role {
        Role::Outside => -1.0,
        Role::Opening => 1.0,
        Role::Open => 0.0,
    }
}

/// Fills in what depends on the role: sharp inside corners and the smallest inside radius.
pub(super) fn inside_corners(contour: &mut Contour) {
    contour.sharp_inside_corners.clear();
    contour.min_inside_radius_mm = None;
    contour.min_inside_radius_at = None;
    if contour.role == Role::Open {
        return;
    }
    let inside_turn = inside_turn(contour.role);
    let polyline = &contour.polyline;
    for i in 0..polyline.segment_count() {
        let turn = inside_turn * turn_at(polyline, i);
        if turn > SHARP_CORNER_RAD {
            contour.sharp_inside_corners.push(Corner {
                at: polyline.vertices[i].at,
                angle_rad: std::f64::consts::PI - turn,
                segment: i,
            });
        }
    }
    let smallest_arc = contour
        .inside_arcs()
        .map(|(_, s)| (s.radius(), s.at(0.5)))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let smallest = match contour.sharp_inside_corners.first() {
        Some(corner) => Some((0.0, corner.at)),
        None => smallest_arc,
    };
    if let Some((radius, at)) = smallest {
        contour.min_inside_radius_mm = Some(radius);
        contour.min_inside_radius_at = Some(at);
    }
}

/// Computes the turn of direction at the start of segment `i` of a loop, radians, counter-clockwise positive. Where the line turns back
/// on itself, rounding would decide to which side; there the bends of the two segments say on which side the tip is.
pub(crate) fn turn_at(polyline: &Polyline, i: usize) -> f64 {
    let n = polyline.segment_count();
    let (before, after) = (polyline.segment((i + n - 1) % n), polyline.segment(i));
    let turn = before.direction(1.0).turn_to(after.direction(0.0));
    let bend = curvature(before) + curvature(after);
    if std::f64::consts::PI - turn.abs() < SMOOTH_JOINT_RAD && bend != 0.0 {
        -turn.abs() * bend.signum()
    } else {
        turn
    }
}

/// Computes the curvature of an arc, 1/mm, counter-clockwise positive; 0 of a line.
fn curvature(s: Segment) -> f64 {
    if s.is_arc() {
        s.bulge.signum() / s.radius()
    } else {
        0.0
    }
}
