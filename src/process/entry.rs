//! Where a path may be entered.

use std::f64::consts::PI;

use crate::geometry::{Point, Polyline, SegmentIndex, Vector};
use crate::job::LeadShape;
use crate::tolerance::{PATH_MM, SHARP_CORNER_RAD};
use crate::toolpath::WireLoop;

/// So many of the best places are put in order before all others.
const BEST_FIRST: usize = 32;

/// A loop that is to be entered.
pub(super) struct Path<'a> {
    pub wire: &'a WireLoop,
    pub index: SegmentIndex,
    pub around: bool,
}

impl<'a> Path<'a> {
    pub(super) fn new(wire: &'a WireLoop) -> Self {
        Self {
            wire,
            index: SegmentIndex::of([&wire.polyline]),
            around: wire.polyline.area() > 0.0,
        }
    }
}

/// A place where a path may be entered.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct EntryPoint {
    /// Segment of the path.
    pub segment: usize,
    /// Where.
    pub entry: Point,
    /// Unit direction of travel there.
    pub along: Vector,
    /// How the wire comes onto it.
    pub shape: LeadShape,
}

impl EntryPoint {
    /// On a point of segment `i` of a path.
    pub(super) fn on(path: &Polyline, i: usize, entry: Point, shape: LeadShape) -> Self {
        let segment = path.segment(i);
        Self {
            segment: i,
            entry,
            along: segment.direction(segment.parameter(entry)),
            shape,
        }
    }

    /// Unit direction away from the wall: paths keep the material on their left.
    pub(super) fn away(&self) -> Vector {
        -self.along.left()
    }
}

/// Where a path may be entered, best first: in the middles of its straights, then of its arcs; of each those farthest
/// towards the clamped side first, and among equals, or without such a side, the longest. Outside corners instead, the
/// sharpest first, where they are wanted; the others follow them.
pub(super) fn landings(
    path: &Polyline,
    offset_mm: f64,
    towards: Option<Vector>,
    wanted: Option<LeadShape>,
) -> impl Iterator<Item = EntryPoint> {
    let shape = wanted.unwrap_or_default();
    let far = |p: Point| (p - Point::default()).dot(towards.unwrap_or_default());
    let mut order: Vec<(bool, f64, f64, usize)> = path
        .segments()
        .enumerate()
        .map(|(i, s)| (s.is_arc(), far(s.at(0.5)), s.length(), i))
        .collect();
    let by = |a: &(bool, f64, f64, usize), b: &(bool, f64, f64, usize)| {
        let by_place = b.1.total_cmp(&a.1).then(b.2.total_cmp(&a.2));
        a.0.cmp(&b.0).then(by_place).then(a.3.cmp(&b.3))
    };
    // Mostly one of the best is taken: the others are put in order when they are asked for.
    if order.len() > BEST_FIRST {
        order.select_nth_unstable_by(BEST_FIRST, by);
    }
    let mut others = order.split_off(order.len().min(BEST_FIRST));
    order.sort_unstable_by(by);
    let others = std::iter::once_with(move || {
        others.sort_unstable_by(by);
        others
    });
    let corners = (wanted == Some(LeadShape::Corner)).then(|| corners(path, offset_mm));
    let faces = order.into_iter().chain(others.flatten());
    let faces = faces.map(move |(_, _, _, i)| EntryPoint::on(path, i, path.segment(i).at(0.5), shape));
    corners.into_iter().flatten().chain(faces)
}

/// The outside corners of a path `offset_mm` from its wall: rolls round a corner of the wall, and sharp turns to the left;
/// the sharpest first.
fn corners(path: &Polyline, offset_mm: f64) -> Vec<EntryPoint> {
    let n = path.segment_count();
    let mut found: Vec<(f64, EntryPoint)> = Vec::new();
    for i in 0..n {
        let segment = path.segment(i);
        let rolled = segment.bulge > 0.0 && (segment.radius() - offset_mm).abs() <= PATH_MM;
        if rolled && segment.sweep() > SHARP_CORNER_RAD && segment.sweep() < PI {
            found.push((
                segment.sweep(),
                EntryPoint::on(path, i, segment.at(0.5), LeadShape::Corner),
            ));
        }
        let before = path.segment((i + n - 1) % n).direction(1.0);
        let turn = before.turn_to(segment.direction(0.0));
        if turn > SHARP_CORNER_RAD {
            let along = before.turned(0.5 * turn);
            let landing = EntryPoint {
                segment: i,
                entry: segment.from,
                along,
                shape: LeadShape::Corner,
            };
            found.push((turn, landing));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.segment.cmp(&b.1.segment)));
    found.into_iter().map(|(_, landing)| landing).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_are_entered_along_their_bisector() {
        let path = crate::toolpath::offset(
            &Polyline::closed([(0.0, 0.0, 0.0), (4.0, 0.0, 0.0), (0.0, 4.0, 0.0)]),
            0.2,
        );
        let path = path.expect("verified").loops.remove(0);
        let found: Vec<EntryPoint> = landings(&path, 0.2, None, Some(LeadShape::Corner)).collect();
        let s = 0.5f64.sqrt();
        assert_eq!(found.len(), 3 + path.segment_count());
        // Two corners of 45°, whose bisectors lie 22.5° off the legs, come before the right angle.
        for landing in &found[..2] {
            let away = landing.away();
            let off_leg = away.x.abs().min(away.y.abs());
            assert!((off_leg - (PI / 8.0).sin()).abs() < 1e-9, "{away:?}");
        }
        let right_angle = found[2].away();
        assert!(
            (right_angle - Vector::new(-s, -s)).length() < 1e-9,
            "{right_angle:?}"
        );
    }
}
