//! Rational Bézier curves: the pieces that every spline falls into.

use super::biarc::ParametricCurve;
use super::quadrature::integrate;
use super::{Point, Segment, Vector};
use crate::cancel::checkpoint;
use crate::elementary::{cos, tan};
use crate::tolerance::{QUADRATURE, SAME_POINT_MM};

/// Highest degree that is taken. Drawings hold 1 to 11; the cost of a point rises with the square.
pub const HIGHEST_DEGREE: usize = 25;

/// A control point in homogeneous coordinates: x·w, y·w, w.
type Homogeneous = [f64; 3];

/// A control polygon on the stack.
type Polygon = [Homogeneous; HIGHEST_DEGREE + 1];

/// A rational Bézier curve over the parameter range 0…1.
#[derive(Clone, Debug, PartialEq)]
pub struct Bezier {
    control: Vec<Homogeneous>,
}

/// Speed at a cusp, as a part of the largest speed: below it the direction jumps.
const CUSP_SPEED: f64 = 1.0 / (1u32 << 20) as f64;

/// Weights within one piece differ by no more than this factor; that of a quarter circle are at 1.4.
const UNEVEN: f64 = 4.0;

/// A piece is halved at most so often: each halving halves the factor between its weights.
const MOST_HALVINGS: u32 = 40;

/// A minimum of the speed below this part of the largest is looked at for a cusp.
const SLOW: f64 = 0.1;

/// Control points closer to an end than this part of the polygon's length give no direction.
const COINCIDENT: f64 = 1.0 / (1u64 << 40) as f64;

impl Bezier {
    /// From control points `[x·w, y·w, w]`, mm; all weights above 0, at least two points and at most
    /// [`HIGHEST_DEGREE`] + 1.
    pub fn new(control: Vec<[f64; 3]>) -> Self {
        checkpoint();
        assert!(
            (2..=HIGHEST_DEGREE + 1).contains(&control.len()),
            "{} control points",
            control.len()
        );
        Self { control }
    }

    fn degree(&self) -> usize {
        self.control.len() - 1
    }

    /// Returns the control points in the plane, mm.
    fn polygon(&self) -> impl DoubleEndedIterator<Item = Point> + '_ {
        self.control.iter().copied().map(project)
    }

    /// Computes the length of the control polygon, mm: no less than that of the curve.
    pub fn polygon_length(&self) -> f64 {
        self.polygon()
            .zip(self.polygon().skip(1))
            .map(|(a, b)| a.distance(b))
            .sum()
    }

    /// Where it starts.
    pub fn start(&self) -> Point {
        project(self.control[0])
    }

    /// Where it ends.
    pub fn end(&self) -> Point {
        project(self.control[self.degree()])
    }

    /// Derivative by the parameter at `t`, mm.
    pub fn velocity(&self, t: f64) -> Vector {
        let (a, b) = self.last_two(t);
        let w = mix(a, b, t)[2];
        (project(b) - project(a)) * (self.degree() as f64 * a[2] * b[2] / (w * w))
    }

    /// Length, mm, by quadrature to about 1e-12 of it.
    pub fn length(&self) -> f64 {
        checkpoint();
        integrate(|t| self.velocity(t).length(), 0.0, 1.0, QUADRATURE)
    }

    /// De Casteljau's scheme up to the last two points.
    fn last_two(&self, t: f64) -> (Homogeneous, Homogeneous) {
        let mut work: Polygon = [[0.0; 3]; HIGHEST_DEGREE + 1];
        let n = self.control.len();
        work[..n].copy_from_slice(&self.control);
        for left in (2..n).rev() {
            for i in 0..left {
                work[i] = mix(work[i], work[i + 1], t);
            }
        }
        (work[0], work[1])
    }

    /// Returns the parts before and after `t`.
    pub fn split(&self, t: f64) -> (Self, Self) {
        let mut work = self.control.clone();
        let (mut before, mut after) = (Vec::new(), Vec::new());
        while let (Some(&first), Some(&last)) = (work.first(), work.last()) {
            before.push(first);
            after.push(last);
            for i in 1..work.len() {
                work[i - 1] = mix(work[i - 1], work[i], t);
            }
            work.pop();
        }
        after.reverse();
        (Self { control: before }, Self { control: after })
    }

    /// Returns the curve in pieces within which weights differ by no more than `UNEVEN`: where they differ more, it rushes
    /// through a small part of its range, and samples would miss what it does there.
    pub fn evened(&self) -> Vec<Self> {
        let mut pieces = Vec::new();
        let mut open = vec![(self.clone(), 0)];
        while let Some((piece, halvings)) = open.pop() {
            let weights = || piece.control.iter().map(|c| c[2]);
            let (low, high) = (
                weights().fold(f64::INFINITY, f64::min),
                weights().fold(0.0, f64::max),
            );
            if high <= UNEVEN * low || halvings >= MOST_HALVINGS {
                pieces.push(piece);
            } else {
                let (before, after) = piece.split(0.5);
                open.push((after, halvings + 1));
                open.push((before, halvings + 1));
            }
        }
        pieces
    }

    /// Parameters inside the range where the curve stops and turns on the spot.
    pub fn cusps(&self) -> Vec<f64> {
        if self.degree() < 2 {
            return Vec::new();
        }
        let steps = 4 * self.degree() + 8;
        let at = |i: usize| i as f64 / steps as f64;
        let speed = |t: f64| self.velocity(t).length();
        let speeds: Vec<f64> = (0..=steps).map(|i| speed(at(i))).collect();
        let fastest = speeds.iter().copied().fold(0.0, f64::max);
        (1..steps)
            .filter(|&i| {
                speeds[i] < SLOW * fastest && speeds[i] <= speeds[i - 1] && speeds[i] < speeds[i + 1]
            })
            .filter_map(|i| {
                let t = lowest(speed, at(i - 1), at(i + 1));
                let inside = t > CUSP_SPEED && t < 1.0 - CUSP_SPEED;
                (inside && speed(t) < CUSP_SPEED * fastest).then_some(t)
            })
            .collect()
    }

    /// Returns the line or circular arc that this curve is, to [`SAME_POINT_MM`]: a straight polygon walked one way, or
    /// a rational parabola with the weights of a circle.
    pub fn exact(&self) -> Option<Segment> {
        self.straight().or_else(|| self.circular())
    }

    fn straight(&self) -> Option<Segment> {
        let (start, end) = (self.start(), self.end());
        let along = (end - start).normalized()?;
        let mut reached = 0.0;
        for p in self.polygon() {
            let from_start = p - start;
            let advance = from_start.dot(along);
            if along.cross(from_start).abs() > SAME_POINT_MM || advance < reached - SAME_POINT_MM {
                return None;
            }
            reached = advance;
        }
        Some(Segment::line(start, end))
    }

    fn circular(&self) -> Option<Segment> {
        let &[a, b, c] = self.control.as_slice() else {
            return None;
        };
        // A conic through `start` and `end` whose tangents meet in the middle control point is a circle when both
        // tangents are of one length and the middle weight is the cosine of half the sweep (Piegl & Tiller,
        // The NURBS Book, 2nd ed., section 7.3).
        let (start, corner, end) = (project(a), project(b), project(c));
        let (out, back) = (corner - start, end - corner);
        let half_sweep = 0.5 * out.turn_to(back);
        let weight = b[2] / (a[2] * c[2]).sqrt();
        let (arc, here) = (Segment::arc(start, end, tan(0.5 * half_sweep)), self.point(0.5));
        let sagitta_off = here.distance(arc.nearest(here));
        let even = (out.length() - back.length()).abs() <= SAME_POINT_MM;
        let round = (weight - cos(half_sweep)).abs() * out.length() <= SAME_POINT_MM;
        (even && round && sagitta_off <= SAME_POINT_MM && arc.is_arc()).then_some(arc)
    }
}

impl ParametricCurve for Bezier {
    fn point(&self, t: f64) -> Point {
        if t <= 0.0 {
            return self.start();
        }
        if t >= 1.0 {
            return self.end();
        }
        let (a, b) = self.last_two(t);
        project(mix(a, b, t))
    }

    fn tangent(&self, t: f64) -> Vector {
        let apart = |v: &Vector| v.length() > COINCIDENT * self.polygon_length();
        let leaving = || {
            self.polygon()
                .map(|p| p - self.start())
                .find(apart)
                .unwrap_or_default()
        };
        let arriving = || {
            self.polygon()
                .rev()
                .map(|p| self.end() - p)
                .find(apart)
                .unwrap_or_default()
        };
        let direction = if t <= 0.0 {
            leaving()
        } else if t >= 1.0 {
            arriving()
        } else {
            self.velocity(t)
        };
        direction.normalized().unwrap_or_default()
    }

    fn samples(&self, _from: f64, _to: f64) -> usize {
        self.degree() + 3
    }
}

/// Smooth joints of Béziers, walked as one curve: piece i runs over the parameter i…i+1.
pub struct BezierChain<'a>(pub &'a [Bezier]);

impl BezierChain<'_> {
    fn piece(&self, t: f64) -> (&Bezier, f64) {
        let i = (t as usize).min(self.0.len() - 1);
        (&self.0[i], t - i as f64)
    }
}

impl ParametricCurve for BezierChain<'_> {
    fn point(&self, t: f64) -> Point {
        let (piece, t) = self.piece(t);
        piece.point(t)
    }

    fn tangent(&self, t: f64) -> Vector {
        let (piece, t) = self.piece(t);
        piece.tangent(t)
    }

    fn samples(&self, from: f64, to: f64) -> usize {
        let pieces = (from.max(to).ceil() - from.min(to).floor()) as usize;
        pieces * (self.0[0].degree() + 3)
    }
}

fn project([x, y, w]: Homogeneous) -> Point {
    if w == 1.0 {
        Point::new(x, y)
    } else {
        Point::new(x / w, y / w)
    }
}

fn mix(a: Homogeneous, b: Homogeneous, t: f64) -> Homogeneous {
    std::array::from_fn(|i| a[i] * (1.0 - t) + b[i] * t)
}

/// Where `f` is lowest between `a` and `b`: golden section, to the accuracy of `f64`.
fn lowest(f: impl Fn(f64) -> f64, mut a: f64, mut b: f64) -> f64 {
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    let (mut c, mut d) = (b - golden * (b - a), a + golden * (b - a));
    let (mut fc, mut fd) = (f(c), f(d));
    for _ in 0..60 {
        if fc < fd {
            (b, d, fd) = (d, c, fc);
            c = b - golden * (b - a);
            fc = f(c);
        } else {
            (a, c, fc) = (c, d, fd);
            d = a + golden * (b - a);
            fd = f(d);
        }
    }
    0.5 * (a + b)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use crate::geometry::biarc::fit;

    fn plain(points: &[(f64, f64)]) -> Bezier {
        Bezier::new(points.iter().map(|&(x, y)| [x, y, 1.0]).collect())
    }

    /// y = x² from 0 to 1: its length is √5/2 + asinh(2)/4 (the integral of √(1 + 4x²), any table of integrals).
    #[test]
    fn the_length_of_a_parabola_is_the_closed_form() {
        let parabola = plain(&[(0.0, 0.0), (0.5, 0.0), (1.0, 1.0)]);
        let exact = 5f64.sqrt() / 2.0 + 2f64.asinh() / 4.0;
        assert!(
            (parabola.length() / exact - 1.0).abs() < 1e-13,
            "{}",
            parabola.length()
        );
        let p = parabola.point(0.25);
        assert!((p.y - p.x * p.x).abs() < 1e-15 && (p.x - 0.25).abs() < 1e-15);
        assert!(parabola.exact().is_none());
    }

    /// Rational quarter circle, weights 1, √½, 1: Piegl & Tiller, The NURBS Book, 2nd ed., example 7.1.
    #[test]
    fn a_rational_quarter_circle_is_an_arc() {
        let w = 0.5f64.sqrt();
        let quarter = Bezier::new(vec![[3.0, 0.0, 1.0], [3.0 * w, 3.0 * w, w], [0.0, 3.0, 1.0]]);
        assert!((quarter.length() - 1.5 * PI).abs() < 1e-12);
        let arc = quarter.exact().expect("it is an arc");
        assert!((arc.sweep() - PI / 2.0).abs() < 1e-12);
        assert!(arc.center().is_some_and(|c| c.distance(Point::default()) < 1e-12));
        for i in 0..=10 {
            let t = f64::from(i) / 10.0;
            assert!((quarter.point(t).distance(Point::default()) - 3.0).abs() < 1e-14);
            assert!((quarter.tangent(t).dot(quarter.point(t) - Point::default())).abs() < 1e-13);
        }
        let ellipse = Bezier::new(vec![[6.0, 0.0, 1.0], [6.0 * w, 3.0 * w, w], [0.0, 3.0, 1.0]]);
        assert!(ellipse.exact().is_none());
        let near = Bezier::new(vec![[3.0, 0.0, 1.0], [2.1, 2.1, 0.7], [0.0, 3.0, 1.0]]);
        assert!(near.exact().is_none());
    }

    #[test]
    fn a_straight_polygon_is_a_line_only_when_walked_one_way() {
        let line = plain(&[(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (4.0, 4.0)]).exact();
        assert_eq!(
            line,
            Some(Segment::line(Point::new(0.0, 0.0), Point::new(4.0, 4.0)))
        );
        assert!(
            plain(&[(0.0, 0.0), (5.0, 5.0), (2.0, 2.0), (4.0, 4.0)])
                .exact()
                .is_none()
        );
    }

    #[test]
    fn a_cusp_is_found_and_kept() {
        // x' and y' both vanish at t = 1/2.
        let cusp = plain(&[(0.0, 0.0), (10.0, 10.0), (0.0, 10.0), (10.0, 0.0)]);
        let found = cusp.cusps();
        assert_eq!(found.len(), 1);
        assert!((found[0] - 0.5).abs() < 1e-6);
        let (before, after) = cusp.split(found[0]);
        assert!((before.length() + after.length() - cusp.length()).abs() < 1e-9);
        // Up into the cusp, down out of it.
        assert!(before.tangent(1.0).y > 0.99 && after.tangent(0.0).y < -0.99);
        // A bend is none.
        assert!(
            plain(&[(0.0, 0.0), (10.0, 10.0), (0.0, 10.0), (10.0, 1.0)])
                .cusps()
                .is_empty()
        );
    }

    #[test]
    fn coincident_control_points_leave_a_direction() {
        let bezier = plain(&[(0.0, 0.0), (0.0, 0.0), (3.0, 4.0), (3.0, 4.0)]);
        assert!((bezier.tangent(0.0) - Vector::new(0.6, 0.8)).length() < 1e-15);
        assert!((bezier.tangent(1.0) - Vector::new(0.6, 0.8)).length() < 1e-15);
    }

    #[test]
    fn arcs_through_a_chain_keep_within_the_tolerance() {
        let wave = [
            plain(&[(0.0, 0.0), (10.0, 20.0), (20.0, -20.0), (30.0, 0.0)]),
            plain(&[(30.0, 0.0), (40.0, 20.0), (42.0, 21.0), (60.0, 0.0)]),
        ];
        for tolerance in [0.05, 0.5e-3, 1e-6] {
            let fit = fit(&BezierChain(&wave), 0.0, 2.0, tolerance).expect("it can be fitted");
            assert!(fit.deviation_mm <= tolerance);
            let run = crate::geometry::Polyline {
                vertices: fit.vertices,
                closed: false,
            };
            for i in 0..=3000 {
                let p = BezierChain(&wave).point(f64::from(i) / 1500.0);
                let nearest = run
                    .segments()
                    .map(|s| s.distance(p))
                    .fold(f64::INFINITY, f64::min);
                assert!(nearest <= tolerance * 1.0001, "{nearest} of {tolerance}");
            }
        }
    }
}
