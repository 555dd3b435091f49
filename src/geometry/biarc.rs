//! Arcs in place of a smooth curve: a chain of circular arcs with no kink between them, within a tolerance.
//!
//! A *biarc* is two arcs that leave one point in a given direction and reach another in a given direction,
//! with a common tangent where they meet. Which biarcs there are between two points with directions is a
//! family with one parameter: their joints lie on a circle through both points (Bolton, "Biarc curves",
//! Computer-Aided Design 7 (1975) 89–92). We take the joint where the curve itself crosses that circle, so that the
//! biarc meets the curve three times and its error falls with the third power of its length (Meek & Walton,
//! "Approximating smooth planar curves by arc splines", J. Comput. Appl. Math. 59 (1995) 221–231).
//!
//! The fit walks along the curve and takes the longest biarc that keeps within the tolerance, so the number of
//! arcs for a curve of length L whose curvature changes by κ' per length is near L·(|κ'| / (324·tolerance))^⅓ · 2:
//! ten times the accuracy costs 2.15 times the arcs.

use super::{Bounds, Point, Segment, Vector, Vertex};
use crate::cancel::{asked, checkpoint};
use crate::elementary::{atan2, cbrt, cos, sin, tan};
use crate::tolerance::{FIT_OF_SIZE, SMALL_TURN_RAD};

/// A smooth curve, walked with rising or falling parameter.
pub trait ParametricCurve {
    /// Where it is at `t`.
    fn point(&self, t: f64) -> Point;

    /// Unit direction of travel at `t`.
    fn tangent(&self, t: f64) -> Vector;

    /// How many points between `from` and `to` it takes to see everything that the curve does there.
    fn samples(&self, from: f64, to: f64) -> usize;
}

/// Arcs that stand in for a curve.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ArcFit {
    /// The arcs, end to end; the last vertex is the end of the last arc and its bulge has no meaning.
    pub vertices: Vec<Vertex>,
    /// Largest distance between the curve and the arcs, mm, measured on four times the points that the curve asks for
    /// ([`ParametricCurve::samples`]), and no fewer than 24, along each arc. It holds both ways: the curve runs along each arc from end to end, so
    /// no point of an arc is left without a point of the curve across from it.
    pub deviation_mm: f64,
}

/// Why a curve could not be fitted: it needs more than [`MOST_BIARCS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooManyArcs;

/// Most biarcs in place of one curve. At a tolerance of one part in 1e8 of its size a curve of a part takes
/// some thousand; one that needs more is noise.
pub const MOST_BIARCS: usize = 20_000;

/// Tries at the length of one biarc: each halves the doubt or better, so a dozen settle it to a percent.
const TRIES: usize = 12;

/// A biarc whose error is this part of the tolerance is long enough.
const GOOD_ENOUGH: f64 = 0.85;

/// Samples miss the top of the error by a fraction of a percent: the fit aims at this part of the tolerance.
const AIM: f64 = 0.99;

/// The error of what is taken is measured on so many times the points that refuse most of the rest.
const DENSER: usize = 4;

/// Steps below this part of the curve are no longer shortened: a straight line takes the place of the biarc
/// (at a cusp, where directions jump).
const SHORTEST_STEP: f64 = 1.0 / (1u64 << 40) as f64;

/// Half of the sweep of one arc stays below a quarter of a turn.
const MOST_BULGE: f64 = 0.415;

/// Arcs within `tolerance_mm` (but never less than [`FIT_OF_SIZE`] of the curve's extent) in place of `curve`
/// from `from` to `to`. The curve must not have corners; what it costs is said at the head of this module.
pub fn fit(
    curve: &impl ParametricCurve,
    from: f64,
    to: f64,
    tolerance_mm: f64,
) -> Result<ArcFit, TooManyArcs> {
    let tolerance = AIM * tolerance_mm.max(FIT_OF_SIZE * extent(curve, from, to));
    let mut arcs = ArcFit::default();
    let mut start = End::of(curve, from);
    let mut step = 1.0;
    let mut biarcs = 0;
    while start.t != to {
        checkpoint();
        biarcs += 1;
        if biarcs > MOST_BIARCS {
            return Err(TooManyArcs);
        }
        let rest = Rest {
            from: start,
            to,
            range: to - from,
        };
        let Step { biarc, end, error } = longest(curve, &rest, step, tolerance);
        step = (end.t - start.t) / rest.range;
        arcs.deviation_mm = arcs.deviation_mm.max(error);
        biarc.push_to(&mut arcs.vertices, &start);
        start = end;
    }
    arcs.vertices.push(Vertex {
        at: start.at,
        bulge: 0.0,
    });
    Ok(arcs)
}

/// Computes the biarc from `from`, left in direction `leaving`, to `to`, reached in direction `arriving`, whose joint lies half
/// way along the circle of all joints: two halves of one arc when the directions are those of an arc.
pub fn even_biarc(from: Point, leaving: Vector, to: Point, arriving: Vector) -> [Segment; 2] {
    let end = |at, tangent| End { t: 0.0, at, tangent };
    let (first, second) = joined(&end(from, leaving), &end(to, arriving), 0.5);
    [first, second]
}

/// Rough extent of the curve, mm.
fn extent(curve: &impl ParametricCurve, from: f64, to: f64) -> f64 {
    let steps = curve.samples(from, to);
    let at = |i: usize| curve.point(from + (to - from) * i as f64 / steps as f64);
    Bounds::of(asked(0..=steps).map(at)).diagonal()
}

/// The part of a curve that is still to be fitted.
struct Rest {
    from: End,
    to: f64,
    /// Extent of the parameter over the whole curve, signed; steps are parts of it.
    range: f64,
}

/// A biarc that is taken, where it ends, and its largest distance from the curve.
struct Step {
    biarc: Biarc,
    end: End,
    error: f64,
}

/// Computes the longest biarc at the start of `rest` that keeps within `tolerance`, guessing `step` first.
fn longest(curve: &impl ParametricCurve, rest: &Rest, step: f64, tolerance: f64) -> Step {
    let left = (rest.to - rest.from.t) / rest.range;
    let mut step = step;
    let mut accepted: Option<(f64, f64, Biarc, End)> = None;
    let mut refused = f64::INFINITY;
    let mut tries = 0;
    loop {
        tries += 1;
        let t = rest.from.t + rest.range * step;
        let at_end = step >= left || (rest.to - t) / rest.range <= 0.0;
        let end = End::of(curve, if at_end { rest.to } else { t });
        let biarc = Biarc::between(curve, &rest.from, &end);
        // A few samples refuse most; only what they let pass is measured densely.
        let mut error = biarc.deviation(curve, &rest.from, &end, 1);
        if error <= tolerance {
            error = biarc.deviation(curve, &rest.from, &end, DENSER);
        }
        // The error falls with the third power of the length; the factor keeps the guess on the safe side.
        let guess = step * 0.98 * cbrt(tolerance / error);
        if error <= tolerance {
            accepted = Some((step, error, biarc, end));
            if at_end || error >= GOOD_ENOUGH * tolerance {
                break;
            }
            step = guess.clamp(step * 1.05, step * 4.0);
        } else {
            refused = step;
            // A guess that is no number comes from points that coincide.
            step = if guess.is_finite() {
                guess.clamp(step * 0.1, step * 0.9)
            } else {
                step * 0.5
            };
            if accepted.is_none() && step < SHORTEST_STEP {
                let line = Biarc::straight(&rest.from, &end);
                let error = line.deviation(curve, &rest.from, &end, DENSER);
                return Step {
                    biarc: line,
                    end,
                    error,
                };
            }
        }
        if let Some((best, ..)) = &accepted {
            let best = *best;
            if tries >= TRIES || refused - best < 0.02 * best {
                break;
            }
            if step >= refused || step <= best {
                step = 0.5 * (best + refused);
            }
        }
    }
    accepted.map_or_else(
        || unreachable!("the loop is left with an accepted biarc only"),
        |(_, error, biarc, end)| Step { biarc, end, error },
    )
}

/// A point of the curve, and its direction there.
#[derive(Clone, Copy)]
struct End {
    t: f64,
    at: Point,
    tangent: Vector,
}

impl End {
    fn of(curve: &impl ParametricCurve, t: f64) -> Self {
        Self {
            t,
            at: curve.point(t),
            tangent: curve.tangent(t),
        }
    }
}

/// Two arcs end to end.
struct Biarc {
    first: Segment,
    second: Segment,
    /// Where the curve passes their joint.
    joint_t: f64,
}

impl Biarc {
    fn straight(start: &End, end: &End) -> Self {
        let joint = start.at.midpoint(end.at);
        Self {
            first: Segment::line(start.at, joint),
            second: Segment::line(joint, end.at),
            joint_t: 0.5 * (start.t + end.t),
        }
    }

    fn between(curve: &impl ParametricCurve, start: &End, end: &End) -> Self {
        let chord = end.at - start.at;
        let leaving = chord.turn_to(start.tangent);
        let arriving = chord.turn_to(end.tangent);
        let turn = joint_turn(start, end);
        let crossing = |t: f64| {
            let p = curve.point(t);
            (p - start.at).turn_to(end.at - p) - turn
        };
        // At both ends the limit of `crossing` is known, and of opposite sign: a root lies between.
        let slant = 0.5 * (arriving + leaving);
        let joint_t = root(crossing, (start.t, -slant), (end.t, slant));
        let passed = curve.point(joint_t);
        // Where J lies along that circle, 0 to 1, from its distances to both ends; then J itself, by a form that
        // stays exact when the circle becomes a line.
        let ratio = passed.distance(start.at) / passed.distance(end.at);
        let straight = turn.abs() < SMALL_TURN_RAD;
        let along = if straight {
            ratio / (1.0 + ratio)
        } else {
            atan2(ratio * sin(turn), 1.0 + ratio * cos(turn)) / turn
        };
        let (first, second) = joined(start, end, along);
        Self {
            first,
            second,
            joint_t,
        }
    }

    /// Largest distance from the curve to the arcs, seen on `density` times the curve's own sample count;
    /// infinite when an arc is longer than a quarter turn.
    fn deviation(&self, curve: &impl ParametricCurve, start: &End, end: &End, density: usize) -> f64 {
        if !(self.first.bulge.abs() <= MOST_BULGE && self.second.bulge.abs() <= MOST_BULGE) {
            return f64::INFINITY;
        }
        let count = density * curve.samples(start.t, end.t).max(6);
        let over = |arc: &Segment, from: f64, to: f64| {
            (1..=count)
                .map(|i| {
                    distance(
                        arc,
                        curve.point(from + (to - from) * i as f64 / (count as f64 + 1.0)),
                    )
                })
                .fold(0.0, worse)
        };
        worse(
            over(&self.first, start.t, self.joint_t),
            worse(
                over(&self.second, self.joint_t, end.t),
                distance(&self.first, curve.point(self.joint_t)),
            ),
        )
    }

    fn push_to(&self, vertices: &mut Vec<Vertex>, start: &End) {
        vertices.push(Vertex {
            at: start.at,
            bulge: self.first.bulge,
        });
        vertices.push(Vertex {
            at: self.second.from,
            bulge: self.second.bulge,
        });
    }
}

/// Computes the larger of two errors; one that is no number is the worst.
fn worse(a: f64, b: f64) -> f64 {
    if a > b || a.is_nan() { a } else { b }
}

/// Computes the biarc from `start` to `end` whose joint lies at `along` (0 to 1) of the circle of all joints.
fn joined(start: &End, end: &End, along: f64) -> (Segment, Segment) {
    let chord = end.at - start.at;
    let turn = joint_turn(start, end);
    let reach = if turn.abs() < SMALL_TURN_RAD {
        along
    } else {
        sin(turn * along) / sin(turn)
    };
    let joint = start.at + chord.turned(-turn * (1.0 - along)) * reach;
    let first_bulge = tan(0.5 * start.tangent.turn_to(joint - start.at));
    let second_bulge = tan(0.5 * (end.at - joint).turn_to(end.tangent));
    (
        Segment::arc(start.at, joint, first_bulge),
        Segment::arc(joint, end.at, second_bulge),
    )
}

/// Whatever the joint J of a biarc, the way from `start` to J and on to `end` turns by this much at J; so all
/// joints lie on one circle through both.
fn joint_turn(start: &End, end: &End) -> f64 {
    let chord = end.at - start.at;
    0.5 * (chord.turn_to(end.tangent) - chord.turn_to(start.tangent))
}

/// Computes the distance from `p` to an arc of less than a quarter turn, mm, exact also when the radius is far larger than the
/// arc: by curvature, not by centre.
fn distance(arc: &Segment, p: Point) -> f64 {
    let chord = arc.to - arc.from;
    let square = chord.dot(chord);
    let out = p - arc.from;
    let along = out.dot(chord);
    let beyond = (along - square).max(-along);
    let height = chord.cross(out);
    if beyond > 0.0 || height.abs() > square || square == 0.0 {
        return out.length().min(p.distance(arc.to));
    }
    // With the chord along x, the circle through both ends whose arc has this bulge b is
    // κ(x² + y² − c·x) − 2·y·(1 − b²)/(1 + b²) = 0, κ = 4b / (c(1 + b²)): divide by the gradient's length.
    let length = square.sqrt();
    let b = arc.bulge;
    let curvature = 4.0 * b / (length * (1.0 + b * b));
    let cosine = (1.0 - b * b) / (1.0 + b * b);
    let (x, y) = (along / length, height / length);
    let level = curvature * (x * x + y * y - length * x) - 2.0 * y * cosine;
    (level / (1.0 + (1.0 + curvature * level).sqrt())).abs()
}

/// Where a function with opposite signs at two ends comes near zero: false position with the Illinois
/// rule, to a thousandth of the range; the middle when the signs do not differ.
fn root(f: impl Fn(f64) -> f64, low: (f64, f64), high: (f64, f64)) -> f64 {
    let ((mut a, mut fa), (mut b, mut fb)) = (low, high);
    let middle = 0.5 * (a + b);
    let close = (b - a).abs() / 1024.0;
    let opposite = fa * fb < 0.0;
    if !opposite {
        return middle;
    }
    let mut best = middle;
    for _ in 0..12 {
        let t = b - fb * (b - a) / (fb - fa);
        let moved = (t - best).abs();
        best = t;
        let ft = f(t);
        if moved < close || ft == 0.0 {
            break;
        }
        if ft * fb < 0.0 {
            (a, fa) = (b, fb);
        } else {
            fa *= 0.5;
        }
        (b, fb) = (t, ft);
    }
    // Never at an end: the joint must divide the biarc.
    let edge = 0.02 * (high.0 - low.0);
    if edge > 0.0 {
        best.clamp(low.0 + edge, high.0 - edge)
    } else {
        best.clamp(high.0 - edge, low.0 + edge)
    }
}
