//! The reverse of cutting a curve into chords: arcs in place of the chords of a ring, within a stated distance.
//!
//! Unlike [`super::refit`] it knows nothing of what was meant: chords may be of any lengths and turn this way and that, as those that a
//! polygon library leaves along the offset of a contour of crumbs. The arcs end at joints of the ring and need no common tangent.

use super::{Point, Polyline, Vertex};
use crate::cancel::checkpoint;
use crate::elementary::tan;

/// An arc turns by no more than twice this, radians.
const MOST_TURN_RAD: f64 = 0.8;

/// An arc that may be straight and rises no more than this part of the tolerance is a line.
const STRAIGHT_SHARE: f64 = 0.25;

/// Lays arcs and lines along a closed `ring` of chords, each as long as every chord that it stands for keeps within `tolerance_mm` of it.
/// Near-linear in the chords.
pub(crate) fn arcs_along(ring: &[Point], tolerance_mm: f64) -> Polyline {
    let mut joints = ring.to_vec();
    joints.dedup();
    let n = joints.len();
    // Begun at the sharpest joint, where an arc ends in any case.
    let turn = |i: usize| {
        (joints[i] - joints[(i + n - 1) % n])
            .turn_to(joints[(i + 1) % n] - joints[i])
            .abs()
    };
    let sharpest = (0..n).max_by(|&i, &j| turn(i).total_cmp(&turn(j)));
    joints.rotate_left(sharpest.unwrap_or_default());
    joints.extend(joints.first().copied());
    let mut vertices = Vec::new();
    let mut first = 0;
    while first < n {
        checkpoint();
        let (count, bulge) = longest(&joints[first..], tolerance_mm);
        vertices.push(Vertex {
            at: joints[first],
            bulge,
        });
        first += count;
    }
    Polyline {
        vertices,
        closed: true,
    }
}

/// How many chords one arc from the first joint can stand for, and its bulge.
fn longest(joints: &[Point], tolerance_mm: f64) -> (usize, f64) {
    let bulge = |count: usize| {
        joints
            .get(..=count)
            .and_then(|joints| bulge(joints, tolerance_mm))
    };
    let (mut best, mut refused) = ((1, 0.0), 2);
    while let Some(bulge) = bulge(refused) {
        best = (refused, bulge);
        refused *= 2;
    }
    while refused - best.0 > 1 {
        let middle = best.0.midpoint(refused);
        match bulge(middle) {
            Some(bulge) => best = (middle, bulge),
            None => refused = middle,
        }
    }
    best
}

/// The bulge of the arc between the first and the last joint that keeps farthest inside the tolerance; `None` where none keeps within it.
///
/// Seen from any point of an arc its ends lie at one angle, so that each point between allows an interval of angles.
fn bulge(joints: &[Point], tolerance_mm: f64) -> Option<f64> {
    let (from, to) = (*joints.first()?, *joints.last()?);
    let chord = from.distance(to);
    let (mut low, mut high) = (-MOST_TURN_RAD, MOST_TURN_RAD);
    let mut allow = |p: Point| {
        let (out, back) = (p - from, to - p);
        let turn = out.turn_to(back);
        let room = tolerance_mm * chord / (out.length() * back.length());
        low = low.max(turn - room);
        high = high.min(turn + room);
        low <= high
    };
    let allowed = joints
        .windows(2)
        .all(|ends| allow(ends[0].midpoint(ends[1])) && (ends[1] == to || allow(ends[1])));
    let half = 0.5 * (low + high);
    let straight = low <= 0.0 && high >= 0.0 && 0.25 * chord * half.abs() <= STRAIGHT_SHARE * tolerance_mm;
    allowed.then(|| if straight { 0.0 } else { tan(0.5 * half) })
}
