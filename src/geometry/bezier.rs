//! Rational Bézier curves: the pieces that every spline falls into.

use super::biarc::Curve;
use super::quadrature::integrate;
use super::{Point, Segment, Vector};
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

/// A minimum of the speed below this part of the largest is looked at for a cusp.
const SLOW: f64 = 0.1;

/// Control points closer to an end than this part of the polygon's length give no direction.
const COINCIDENT: f64 = 1.0 / (1u64 << 40) as f64;

impl Bezier {
    /// From control points `[x·w, y·w, w]`, mm; all weights above 0, at least two points and at most
    /// [`HIGHEST_DEGREE`] + 1.
    pub fn new(control: Vec<[f64; 3]>) -> Self {
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

    /// The control points in the plane, mm.
    fn polygon(&self) -> impl DoubleEndedIterator<Item = Point> + '_ {
        self.control.iter().copied().map(project)
    }

    /// Length of the control polygon, mm: no less than that of the curve.
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

    /// The parts before and after `t`.
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

    /// The line or circular arc that this curve is, to [`SAME_POINT_MM`]: a straight polygon walked one way, or
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
        let (arc, here) = (
            Segment::arc(start, end, (0.5 * half_sweep).tan()),
            self.point(0.5),
        );
        let sagitta_off = here.distance(arc.nearest(here));
        let even = (out.length() - back.length()).abs() <= SAME_POINT_MM;
        let round = (weight - half_sweep.cos()).abs() * out.length() <= SAME_POINT_MM;
        (even && round && sagitta_off <= SAME_POINT_MM && arc.is_arc()).then_some(arc)
    }
}

impl Curve for Bezier {
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
pub struct Chain<'a>(pub &'a [Bezier]);

impl Chain<'_> {
    fn piece(&self, t: f64) -> (&Bezier, f64) {
        let i = (t as usize).min(self.0.len() - 1);
        (&self.0[i], t - i as f64)
    }
}

impl Curve for Chain<'_> {
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
