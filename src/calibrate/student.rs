//! Student's t, for what a small sample leaves open.

use crate::elementary::{atan, sin_cos};
use std::f64::consts::FRAC_2_PI;

/// Share of the distribution within ±`t`, by the finite sums for whole degrees of freedom (Abramowitz & Stegun,
/// Handbook of Mathematical Functions, 26.7.3 and 26.7.4).
fn share_within(t: f64, degrees: usize) -> f64 {
    let angle = atan(t / (degrees as f64).sqrt());
    let (sine, cosine) = sin_cos(angle);
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

/// Half-width, in standard errors, of the interval that holds all but the share `outside` on both sides together,
/// with one degree of freedom or more.
pub(super) fn half_width(outside: f64, degrees: usize) -> f64 {
    // Far beyond any interval of a sample with three degrees or more.
    const WIDEST: f64 = 1.0e6;
    const HALVINGS: usize = 80;
    let (mut low, mut high) = (0.0, WIDEST);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if share_within(middle, degrees) < 1.0 - outside {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;

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
                let found = half_width(outside, degrees);
                assert!((found - printed).abs() < 6e-4, "{degrees} {outside}: {found}");
            }
        }
        // Towards the normal distribution.
        assert!((half_width(0.05, 100_000) - 1.96).abs() < 1e-3);
    }
}
