//! Arcs of ellipses, held so that every affine image of one is another.

use std::f64::consts::{FRAC_PI_2, PI};

use super::biarc::ParametricCurve;
use super::quadrature::integrate;
use super::{Point, Vector};
use crate::elementary::sin_cos;
use crate::tolerance::QUADRATURE;

/// An arc of an ellipse: `center + u·cos θ + v·sin θ` for θ from `start_rad` over `sweep_rad`. `u` and `v` are
/// conjugate half diameters; they are the half axes only when they are square to each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EllipticArc {
    /// Centre.
    pub center: Point,
    /// Where θ = 0 lies, from the centre, mm.
    pub u: Vector,
    /// Where θ = 90° lies, from the centre, mm.
    pub v: Vector,
    /// θ at the start, radians.
    pub start_rad: f64,
    /// How far θ runs, radians, signed.
    pub sweep_rad: f64,
}

impl EllipticArc {
    /// Major and minor half axis, mm.
    pub fn half_axes(&self) -> (f64, f64) {
        let (u, v) = (self.u, self.v);
        // Singular values of the matrix (u v), from the lengths of the sum and difference of its rotation and
        // reflection parts: no cancellation for the major one.
        let turning = Vector::new(u.x + v.y, u.y - v.x).length();
        let mirroring = Vector::new(u.x - v.y, u.y + v.x).length();
        let major = 0.5 * (turning + mirroring);
        let minor = if major > 0.0 {
            u.cross(v).abs() / major
        } else {
            0.0
        };
        (major, minor)
    }

    /// Where it ends, as θ.
    pub fn end_rad(&self) -> f64 {
        self.start_rad + self.sweep_rad
    }

    /// Whether θ runs counter-clockwise in the plane.
    pub fn is_counter_clockwise(&self) -> bool {
        (self.u.cross(self.v) > 0.0) == (self.sweep_rad > 0.0)
    }

    /// Length, mm, by quadrature to about 1e-12 of it.
    pub fn length(&self) -> f64 {
        let parts = (self.sweep_rad.abs() / FRAC_PI_2).ceil().max(1.0);
        let step = self.sweep_rad / parts;
        (0..parts as usize)
            .map(|i| {
                let from = self.start_rad + step * i as f64;
                integrate(
                    |angle| self.velocity(angle).length(),
                    from,
                    from + step,
                    QUADRATURE,
                )
                .abs()
            })
            .sum()
    }

    fn velocity(&self, angle: f64) -> Vector {
        let (sin, cos) = sin_cos(angle);
        self.v * cos - self.u * sin
    }
}

impl ParametricCurve for EllipticArc {
    fn point(&self, angle: f64) -> Point {
        let (sin, cos) = sin_cos(angle);
        self.center + self.u * cos + self.v * sin
    }

    fn tangent(&self, angle: f64) -> Vector {
        let forward = self.velocity(angle).normalized().unwrap_or_default();
        if self.sweep_rad < 0.0 { -forward } else { forward }
    }

    fn samples(&self, from: f64, to: f64) -> usize {
        // A flat ellipse packs its sharp ends into a small part of θ, but the step there is as much smaller.
        4 + (8.0 * (to - from).abs() / PI) as usize
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;
    use crate::geometry::biarc::fit;

    fn ellipse(a: f64, b: f64) -> EllipticArc {
        EllipticArc {
            center: Point::new(3.0, -2.0),
            u: Vector::new(a, 0.0),
            v: Vector::new(0.0, b),
            start_rad: 0.0,
            sweep_rad: TAU,
        }
    }

    /// Perimeter 4·a·E(m) with the complete elliptic integral of the second kind, m = 1 − b²/a² (Abramowitz &
    /// Stegun, Handbook of Mathematical Functions, 17.3), by the arithmetic-geometric mean (17.6).
    fn perimeter(a: f64, b: f64) -> f64 {
        let (mut x, mut y) = (1.0, b / a);
        let mut power = 1.0;
        let mut sum = 0.5 * (1.0 - y * y);
        for _ in 0..12 {
            let half_difference = 0.5 * (x - y);
            (x, y) = (0.5 * (x + y), (x * y).sqrt());
            sum += power * half_difference * half_difference;
            power *= 2.0;
        }
        4.0 * a * (PI / (2.0 * x)) * (1.0 - sum)
    }

    #[test]
    fn the_comparison_is_itself_right() {
        // The general-purpose library mpmath: ellipe(0.75) = 1.21105602756846.
        assert!((perimeter(10.0, 5.0) / 40.0 - 1.211_056_027_568_46).abs() < 1e-14);
    }

    #[test]
    fn perimeters_are_complete_elliptic_integrals() {
        for (a, b) in [
            (10.0, 5.0),
            (5.0, 10.0),
            (1.0, 1.0),
            (100.0, 1.0),
            (1e3, 1e-1),
            (3.0, 2.9999),
        ] {
            let exact = if a > b { perimeter(a, b) } else { perimeter(b, a) };
            let length = ellipse(a, b).length();
            assert!(
                (length / exact - 1.0).abs() < 1e-12,
                "{a} x {b}: {length} is not {exact}"
            );
        }
        assert!((ellipse(10.0, 5.0).length() - 48.442_241_102_738_38).abs() < 1e-12);
    }

    #[test]
    fn half_axes_do_not_depend_on_the_conjugate_pair() {
        for turn in 0..12 {
            let angle = f64::from(turn) * 0.3;
            let (sin, cos) = angle.sin_cos();
            let (u, v) = (Vector::new(7.0, 0.0), Vector::new(0.0, 2.0));
            let arc = EllipticArc {
                u: u * cos + v * sin,
                v: v * cos - u * sin,
                ..ellipse(7.0, 2.0)
            };
            let (major, minor) = arc.half_axes();
            assert!((major - 7.0).abs() < 1e-14 && (minor - 2.0).abs() < 1e-14);
        }
    }

    #[test]
    fn fitted_arcs_keep_within_the_tolerance_both_ways() {
        for (a, b, tolerance, most) in [
            (10.0, 5.0, 0.5e-3, 62),
            (10.0, 5.0, 1e-6, 420),
            (100.0, 1.0, 0.5e-3, 160),
            (0.02, 0.01, 0.5e-3, 12),
        ] {
            let ellipse = ellipse(a, b);
            let fit = fit(&ellipse, 0.0, TAU, tolerance).expect("an ellipse can be fitted");
            eprintln!("{a} {b} {tolerance} {}", fit.vertices.len());
            let arcs = fit.vertices.len() - 1;
            assert!(arcs <= most, "{a} x {b} at {tolerance}: {arcs} arcs");
            assert!(fit.deviation_mm <= tolerance, "{}", fit.deviation_mm);
            let run = crate::geometry::Polyline {
                vertices: fit.vertices,
                closed: false,
            };
            // From the arcs to the curve: the implicit equation, to first order.
            for segment in run.segments() {
                for i in 0..=20 {
                    let p = segment.at(f64::from(i) / 20.0) - ellipse.center;
                    let level = (p.x / a).powi(2) + (p.y / b).powi(2) - 1.0;
                    let slope = 2.0 * Vector::new(p.x / a / a, p.y / b / b).length();
                    assert!(
                        level.abs() / slope <= tolerance * 1.001,
                        "{a} x {b}: {}",
                        level / slope
                    );
                }
            }
            for (one, next) in run.segments().zip(run.segments().skip(1)) {
                let kink = one.direction(1.0).turn_to(next.direction(0.0));
                assert!(kink.abs() < 1e-9, "kink {kink}");
            }
            assert!((run.length() / ellipse.length() - 1.0).abs() < tolerance / b);
        }
    }
}
