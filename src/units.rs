//! Conversions at the edges. Inside the crate everything is plain `f64` with the unit in the name.

mod length;
pub mod roughness;
pub mod fit;
mod limits;
mod general_tolerance;
#[cfg(test)]
mod fit_formulas;

use crate::elementary::{exp, ln};
use serde::{Deserialize, Serialize};

pub use general_tolerance::general_tolerance_mm;
pub use length::{Unit, unit_named, unit_names, unit_of_code};
pub use limits::{Feature, Limits};

/// Micrometres in a millimetre.
pub const UM_PER_MM: f64 = 1000.0;

/// Minutes in an hour.
pub const MIN_PER_HOUR: f64 = 60.0;
/// Hours in a day.
pub const HOURS_PER_DAY: f64 = 24.0;
/// Days in a week.
pub const DAYS_PER_WEEK: f64 = 7.0;

/// Millimetres in an inch, exact (international yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// What is expected, between the low and the high end of what may happen. The unit is in the name of the
/// field that holds it. `low <= expected <= high`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Band {
    /// Low end.
    pub low: f64,
    /// What is expected.
    pub expected: f64,
    /// High end.
    pub high: f64,
}

impl From<f64> for Band {
    fn from(value: f64) -> Self {
        Self::exact(value)
    }
}

impl Band {
    /// Makes a figure that is exactly known.
    pub const fn exact(value: f64) -> Self {
        Self {
            low: value,
            expected: value,
            high: value,
        }
    }

    /// Makes all three times a positive `factor`.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self {
            low: self.low * factor,
            expected: self.expected * factor,
            high: self.high * factor,
        }
    }

    /// Adds what is exactly known.
    #[must_use]
    pub fn plus(self, summand: f64) -> Self {
        Self {
            low: self.low + summand,
            expected: self.expected + summand,
            high: self.high + summand,
        }
    }

    /// Makes the product of uncertain factors: the expected values multiply, the bands join by squares of their
    /// logarithms, so that two doubtful factors are not taken to be wrong together. None may be negative; where
    /// nothing is expected, which has no logarithm, the high ends multiply.
    #[must_use]
    pub fn product(factors: &[Self]) -> Self {
        let expected: f64 = factors.iter().map(|f| f.expected).product();
        if expected == 0.0 {
            return factors.iter().copied().fold(Self::exact(1.0), Self::times);
        }
        let spread = |end: fn(&Self) -> f64| {
            exp(factors
                .iter()
                .map(|f| ln(end(f) / f.expected).powi(2))
                .sum::<f64>()
                .sqrt())
        };
        Self {
            low: expected / spread(|f| f.low),
            expected,
            high: expected * spread(|f| f.high),
        }
    }

    /// Makes the product end by end: of what may be nothing at its low end, which has no logarithm. None may be negative.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        Self {
            low: self.low * other.low,
            expected: self.expected * other.expected,
            high: self.high * other.high,
        }
    }

    /// Makes the sum, end by end: the low ends together, the high ends together.
    #[must_use]
    pub fn sum(terms: impl IntoIterator<Item = Self>) -> Self {
        terms.into_iter().fold(Self::exact(0.0), |a, b| Self {
            low: a.low + b.low,
            expected: a.expected + b.expected,
            high: a.high + b.high,
        })
    }

    /// `numerator` divided by this band, whose values must be above 0: its high end makes the low end.
    #[must_use]
    pub fn divide(self, numerator: f64) -> Self {
        Self {
            low: numerator / self.high,
            expected: numerator / self.expected,
            high: numerator / self.low,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three changes of spools at most, none expected, of 5 to 10 minutes.
    #[test]
    fn what_is_not_expected_may_still_come() {
        let changes = Band {
            high: 3.0,
            ..Band::exact(0.0)
        };
        let minutes = Band {
            low: 2.5,
            expected: 5.0,
            high: 10.0,
        };
        let none = Band::exact(0.0);
        assert_eq!(Band::product(&[changes, minutes]), Band { high: 30.0, ..none });
        assert_eq!(Band::product(&[none, minutes]), none);
    }
}
