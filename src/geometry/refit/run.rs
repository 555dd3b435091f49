//! A run of facets, the smooth curve through its joints, and the arcs that stand for it.

use rayon::prelude::*;

use super::circle::{Circle, circle_through};
use super::{FEWEST_FACETS, FacetedRun, Point, Segment, Vector, Vertex};
use crate::elementary::tan;
use crate::geometry::biarc::{ParametricCurve, even_biarc, fit};
use crate::tolerance::{FIT_MM, JOIN_MM};

/// Of fewer facets at a time another core is not worth waking.
const AT_ONCE: usize = 1024;

/// A run turns by at least this in all; less is a straight line drawn in pieces.
const LEAST_TURN_DEG: f64 = 5.0;

/// Joints may lie this part of the chord error beside one common circle.
const ROUND: f64 = 0.05;

/// A run with the smooth curve through its joints.
pub(super) struct FacetedArc {
    pub(super) first: usize,
    pub(super) count: usize,
    /// All joints, ends included; in a loop that is one run the last is the first.
    joints: Vec<Point>,
    /// Two arcs for each facet.
    smooth: Smooth,
    chord_error_mm: f64,
    circle: Option<Circle>,
}

/// A chain of arcs, two a facet, walked over the parameter range 0…facets.
struct Smooth(Vec<[Segment; 2]>);

impl Smooth {
    fn arc(&self, t: f64) -> (Segment, f64) {
        let i = (t as usize).min(self.0.len() - 1);
        let within = 2.0 * (t - i as f64);
        if within < 1.0 {
            (self.0[i][0], within)
        } else {
            (self.0[i][1], within - 1.0)
        }
    }
}

impl ParametricCurve for Smooth {
    fn point(&self, t: f64) -> Point {
        let (arc, t) = self.arc(t);
        arc.at(t)
    }

    fn tangent(&self, t: f64) -> Vector {
        let (arc, t) = self.arc(t);
        arc.direction(t)
    }

    fn samples(&self, from: f64, to: f64) -> usize {
        4 * (to.ceil() - from.floor()) as usize
    }
}

impl FacetedArc {
    /// Returns the run of `count` facets from `first`; `None` when it is too short or too straight. `before` and `after` are
    /// its neighbours; a loop that is one run has none.
    pub(super) fn over(
        segments: &[Segment],
        first: usize,
        count: usize,
        before: Option<Segment>,
        after: Option<Segment>,
    ) -> Option<Self> {
        if count < FEWEST_FACETS {
            return None;
        }
        let n = segments.len();
        let facets: Vec<Segment> = (first..first + count).map(|i| segments[i % n]).collect();
        let looped = count == n && segments[0].from == segments[n - 1].to;
        let direction = |i: usize| facets[i].direction(0.5);
        let turns: Vec<f64> = (0..count - 1)
            .into_par_iter()
            .with_min_len(AT_ONCE)
            .map(|i| direction(i).turn_to(direction(i + 1)))
            .collect();
        let turning: f64 = turns.iter().map(|turn| turn.abs()).sum();
        if turning < LEAST_TURN_DEG.to_radians() {
            return None;
        }
        let tangents = tangents(&facets, looped, before, after);
        let smooth: Vec<_> = (0..count)
            .into_par_iter()
            .with_min_len(AT_ONCE)
            .map(|i| even_biarc(facets[i].from, tangents[i], facets[i].to, tangents[i + 1]))
            .collect();
        let mut joints: Vec<Point> = facets.iter().map(|facet| facet.from).collect();
        joints.push(facets[count - 1].to);
        let rise = |facet: &Segment, arcs: &[Segment; 2]| {
            let points = arcs
                .iter()
                .flat_map(|arc| [0.25, 0.5, 0.75, 1.0].map(|t| arc.at(t)));
            points.map(|p| facet.distance(p)).fold(0.0, f64::max)
        };
        let rises = facets.par_iter().zip(&smooth).with_min_len(AT_ONCE);
        let chord_error_mm = rises
            .map(|(facet, arcs)| rise(facet, arcs))
            .reduce(|| 0.0, f64::max);
        let one_way = turns.iter().all(|&turn| turn > 0.0) || turns.iter().all(|&turn| turn < 0.0);
        let circle = circle_through(&joints, looped)
            .filter(|circle| one_way && circle.off_mm <= JOIN_MM.max(ROUND * chord_error_mm));
        Some(Self {
            first,
            count,
            joints,
            smooth: Smooth(smooth),
            chord_error_mm,
            circle,
        })
    }

    pub(super) fn facts(&self) -> FacetedRun {
        FacetedRun {
            first: self.first,
            count: self.count,
            chord_error_mm: self.chord_error_mm,
            radius_mm: self.circle.map(|circle| circle.radius),
            at: self.joints[self.count / 2],
        }
    }

    /// Arcs in place of the run, without its last vertex, and how far they may lie from the facets; `None` when that
    /// is more than `tolerance_mm`.
    pub(super) fn arcs(&self, tolerance_mm: f64) -> Option<(Vec<Vertex>, f64)> {
        if let Some(circle) = self.circle {
            let facets = self.joints.windows(2).map(|pair| 0.5 * pair[0].distance(pair[1]));
            let sagitta = |half: f64| circle.radius - (circle.radius.powi(2) - half * half).max(0.0).sqrt();
            let deviation = circle.off_mm + facets.map(sagitta).fold(0.0, f64::max);
            if deviation <= tolerance_mm {
                return Some((self.round(circle), deviation));
            }
        }
        let room = tolerance_mm - self.chord_error_mm;
        let allowed = room.min(FIT_MM.max(0.25 * self.chord_error_mm));
        if allowed <= 0.0 {
            return None;
        }
        let fit = fit(&self.smooth, 0.0, self.count as f64, allowed).ok()?;
        let deviation = self.chord_error_mm + fit.deviation_mm;
        let mut vertices = fit.vertices;
        vertices.pop();
        (deviation <= tolerance_mm && vertices.len() < self.count).then_some((vertices, deviation))
    }

    /// Returns the run as arcs of one circle, its ends kept; none of the arcs longer than a half turn.
    fn round(&self, circle: Circle) -> Vec<Vertex> {
        let out = |p: Point| p - circle.center;
        let sweep: f64 = self
            .joints
            .windows(2)
            .map(|pair| out(pair[0]).turn_to(out(pair[1])))
            .sum();
        let parts = (sweep.abs() / std::f64::consts::PI).ceil().max(1.0);
        let bulge = tan(sweep / parts / 4.0);
        let start = if circle.whole {
            out(self.joints[0]) * (circle.radius / out(self.joints[0]).length())
        } else {
            out(self.joints[0])
        };
        (0..parts as usize)
            .map(|i| Vertex {
                at: circle.center + start.turned(sweep * i as f64 / parts),
                bulge,
            })
            .collect()
    }
}

/// Returns the direction at each joint of a run, ends included.
fn tangents(
    facets: &[Segment],
    looped: bool,
    before: Option<Segment>,
    after: Option<Segment>,
) -> Vec<Vector> {
    let n = facets.len();
    let direction = |i: usize| facets[i].direction(0.5);
    // Of the circle through three joints, at the middle one: the nearer facet's direction counts more.
    let middle = |i: usize, j: usize| {
        let (h, k) = (facets[i].chord(), facets[j].chord());
        direction(i).turned(direction(i).turn_to(direction(j)) * h / (h + k))
    };
    // The same circle's direction at its first and last joint.
    let mirrored = |at_joint: Vector, facet: Vector| facet.turned(at_joint.turn_to(facet));
    let (first, last) = if looped {
        let joint = middle(n - 1, 0);
        (joint, joint)
    } else {
        let last = mirrored(middle(n - 2, n - 1), direction(n - 1));
        (mirrored(middle(0, 1), direction(0)), last)
    };
    let mut tangents: Vec<Vector> = (0..n)
        .into_par_iter()
        .with_min_len(AT_ONCE)
        .map(|i| if i == 0 { first } else { middle(i - 1, i) })
        .collect();
    tangents.push(last);
    // Where a neighbour goes on smoothly, within what one facet turns, its direction is the true one.
    let smooth =
        |ours: Vector, theirs: Vector, facet_turn: f64| ours.turn_to(theirs).abs() <= facet_turn.abs();
    if let Some(theirs) = before.map(|segment| segment.direction(1.0))
        && smooth(tangents[0], theirs, direction(0).turn_to(direction(1)))
    {
        tangents[0] = theirs;
    }
    if let Some(theirs) = after.map(|segment| segment.direction(0.0))
        && smooth(tangents[n], theirs, direction(n - 2).turn_to(direction(n - 1)))
    {
        tangents[n] = theirs;
    }
    tangents
}
