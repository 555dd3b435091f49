//! Student's t, for what a small sample leaves open; the degrees of freedom need not be whole.

use crate::elementary::{exp, ln, ln_1p, ln_gamma};

/// Beyond these the distribution is the normal one to six digits.
const MOST_DEGREES: f64 = 1.0e6;

/// Share of the distribution outside ±`t`: I_x(ν/2, 1/2) with x = ν/(ν + t²) (Abramowitz & Stegun, Handbook of Mathematical
/// Functions, 26.7.1 and 26.5.2).
fn share_outside(t: f64, degrees: f64) -> f64 {
    let (a, b) = (0.5 * degrees, 0.5);
    let squared = t * t;
    let (x, rest) = (degrees / (degrees + squared), squared / (degrees + squared));
    if squared == 0.0 {
        return 1.0;
    }
    // ln x as it is, also where x is next to 1.
    let ln_x = -ln_1p(squared / degrees);
    let front = exp(ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * ln_x + b * ln(rest));
    if x < (a + 1.0) / (a + b + 2.0) {
        front * beta_fraction(a, b, x) / a
    } else {
        1.0 - front * beta_fraction(b, a, rest) / b
    }
}

/// The continued fraction of the incomplete beta function (Abramowitz & Stegun, 26.5.8), by Lentz's method. It needs some √(a + b)
/// steps where x is below (a + 1)/(a + b + 2).
fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    const MOST_STEPS: usize = 100_000;
    const LEAST: f64 = f64::MIN_POSITIVE / f64::EPSILON;
    let kept = |value: f64| if value.abs() < LEAST { LEAST } else { value };
    let mut c = 1.0;
    let mut d = kept(1.0 - (a + b) * x / (a + 1.0)).recip();
    let mut fraction = d;
    for step in 1..MOST_STEPS {
        let m = step as f64;
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut change = 1.0;
        for term in [even, odd] {
            d = kept(1.0 + term * d).recip();
            c = kept(1.0 + term / c);
            change = c * d;
            fraction *= change;
        }
        if (change - 1.0).abs() <= 2.0 * f64::EPSILON {
            break;
        }
    }
    fraction
}

/// Half-width, in standard errors, of the interval that holds all but the share `outside` on both sides together,
/// with one degree of freedom or more, as many as one likes.
pub(crate) fn half_width(outside: f64, degrees: f64) -> f64 {
    // Far beyond any interval of a sample with three degrees or more.
    const WIDEST: f64 = 1.0e6;
    const HALVINGS: usize = 80;
    let degrees = degrees.min(MOST_DEGREES);
    let (mut low, mut high) = (0.0, WIDEST);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if share_outside(middle, degrees) > outside {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_2_PI;

    use super::*;

    /// Share of the distribution within ±`t`, by the finite sums for whole degrees of freedom (Abramowitz & Stegun,
    /// Handbook of Mathematical Functions, 26.7.3 and 26.7.4).
    fn share_within(t: f64, degrees: usize) -> f64 {
        let angle = (t / (degrees as f64).sqrt()).atan();
        let (sine, cosine) = angle.sin_cos();
        let first_odd = degrees % 2;
        let mut term = if first_odd == 1 { cosine } else { 1.0 };
        let mut sum = if degrees == 1 { 0.0 } else { term };
        for k in ((first_odd + 2)..degrees).step_by(2) {
            term *= cosine * cosine * (k - 1) as f64 / k as f64;
            sum += term;
        }
        if first_odd == 1 {
            FRAC_2_PI * (angle + sine * sum)
        } else {
            sine * sum
        }
    }

    #[test]
    fn whole_degrees_agree_with_the_finite_sums() {
        for degrees in [1, 2, 3, 4, 5, 8, 17, 60, 121, 1000] {
            for t in [0.01, 0.5, 1.0, 2.0, 4.0, 12.0, 60.0] {
                let (found, sum) = (1.0 - share_outside(t, degrees as f64), share_within(t, degrees));
                assert!((found - sum).abs() < 1e-12, "{degrees} {t}: {found} {sum}");
            }
        }
    }

    /// Abramowitz & Stegun, table 26.10, percentage points of the t-distribution (from memory, not verified): 95 %
    /// and 99 % within.
    #[test]
    fn the_table_of_percentage_points() {
        let table = [
            (1, 12.706, 63.657),
            (2, 4.303, 9.925),
            (3, 3.182, 5.841),
            (4, 2.776, 4.604),
            (5, 2.571, 4.032),
            (10, 2.228, 3.169),
            (11, 2.201, 3.106),
            (30, 2.042, 2.750),
            (60, 2.000, 2.660),
            (120, 1.980, 2.617),
        ];
        for (degrees, at_95, at_99) in table {
            for (outside, printed) in [(0.05, at_95), (0.01, at_99)] {
                let found = half_width(outside, f64::from(degrees));
                assert!((found - printed).abs() < 6e-4, "{degrees} {outside}: {found}");
            }
        }
    }

    /// The 97.5 % point of the normal distribution, 1.959964 (Abramowitz & Stegun, table 26.5; from memory, not verified).
    #[test]
    fn towards_the_normal_distribution() {
        for degrees in [1.0e6, 1.0e8, f64::INFINITY] {
            let found = half_width(0.05, degrees);
            assert!((found - 1.959_964).abs() < 4e-6, "{degrees}: {found}");
        }
        // Between whole degrees it lies between theirs, and falls.
        let [two, more, three] = [2.0, 2.4, 3.0].map(|degrees| half_width(0.05, degrees));
        assert!(two > more && more > three);
    }
}
