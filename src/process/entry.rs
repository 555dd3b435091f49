//! Where a path may be entered.

use std::f64::consts::PI;

use super::path_line::PathLine;
use crate::geometry::{Point, Polyline, SegmentIndex, Vector};
use crate::job::LeadShape;
use crate::tolerance::{EQUALLY_GOOD_MM, PATH_MM, SHARP_CORNER_RAD};
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

    /// The segment of the path that is nearest to `wanted`, the place on it, and how far away that is, mm. Where the path goes round
    /// `wanted` all places are as near: it is the middle of the longest such run of arcs.
    pub(super) fn nearest(&self, wanted: Point) -> Option<(usize, Point, f64)> {
        let path = &self.wire.polyline;
        let found @ (_, _, distance) = self
            .index
            .nearest(wanted, path.bounds().diagonal().max(PATH_MM))?;
        let round = |i: usize| {
            let arc = path.segment(i);
            let away = arc.center().map(|center| center.distance(wanted));
            away.is_some_and(|away| away <= EQUALLY_GOOD_MM) && arc.radius() <= distance + EQUALLY_GOOD_MM
        };
        if !round(found.0) {
            return Some(found);
        }
        let n = path.segment_count();
        let starts = (0..n).filter(|&i| round(i) && !round((i + n - 1) % n));
        let longest = starts
            .map(|first| {
                let run = (0..n).map(|k| (first + k) % n).take_while(|&i| round(i));
                (first, run.map(|i| path.segment(i).length()).sum::<f64>())
            })
            .min_by_key(|&(first, length_mm)| (-steps(length_mm), first));
        let middle = longest.map(|(first, length_mm)| {
            let line = PathLine::new(path);
            let (i, share) = line.place(line.begins_mm[first] + 0.5 * length_mm);
            (i, path.segment(i).at(share), distance)
        });
        Some(middle.unwrap_or(found))
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

/// A length in steps within which places are equally good.
pub(super) fn steps(mm: f64) -> i64 {
    (mm / EQUALLY_GOOD_MM).round() as i64
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
    let mut order: Vec<(bool, i64, i64, usize)> = path
        .segments()
        .enumerate()
        .map(|(i, s)| (s.is_arc(), -steps(far(s.middle())), -steps(s.length()), i))
        .collect();
    // Mostly one of the best is taken: the others are put in order when they are asked for.
    if order.len() > BEST_FIRST {
        order.select_nth_unstable(BEST_FIRST);
    }
    let mut others = order.split_off(order.len().min(BEST_FIRST));
    order.sort_unstable();
    let others = std::iter::once_with(move || {
        others.sort_unstable();
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
    found.sort_by_key(|(turn, landing)| (-steps(turn * offset_mm), landing.segment));
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
