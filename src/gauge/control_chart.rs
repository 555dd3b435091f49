//! The limits of a chart of individuals and moving ranges: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.

use serde::Serialize;

/// Mean range of two values of a normal distribution, in standard deviations (d₂ of two, 2/√π, as the handbook rounds it).
const MEAN_RANGE_OF_TWO: f64 = 1.128;

/// Upper limit of the range of two values, in mean ranges (D₄ of two, as the handbook rounds it).
const HIGHEST_RANGE_OF_TWO: f64 = 3.267;

/// How many standard deviations the limits lie off the mean.
const SIGMAS: f64 = 3.0;

/// The limits within which values lie that vary by chance alone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct ControlLimits {
    /// Mean of the values, µm.
    pub mean_um: f64,
    /// Mean of the moving ranges, µm.
    pub mean_range_um: f64,
    /// Lower limit of a value, µm: mean − 2.66 × mean moving range.
    pub lower_um: f64,
    /// Upper limit of a value, µm: mean + 2.66 × mean moving range.
    pub upper_um: f64,
    /// Upper limit of a moving range, µm: 3.267 × mean moving range.
    pub upper_range_um: f64,
}

impl ControlLimits {
    /// Computes the limits that values set; `None` of fewer than two.
    pub fn of(values_um: &[f64]) -> Option<Self> {
        let mean_range_um = mean(&moving_ranges(values_um))?;
        let mean_um = mean(values_um)?;
        let reach_um = SIGMAS * mean_range_um / MEAN_RANGE_OF_TWO;
        Some(Self {
            mean_um,
            mean_range_um,
            lower_um: mean_um - reach_um,
            upper_um: mean_um + reach_um,
            upper_range_um: HIGHEST_RANGE_OF_TWO * mean_range_um,
        })
    }

    /// Returns the standard deviation of a value, µm, as the moving ranges tell it.
    pub fn standard_um(&self) -> f64 {
        self.mean_range_um / MEAN_RANGE_OF_TWO
    }

    /// Returns how far the mean of `count` values lies off by chance at the most, µm.
    pub fn reach_of_mean_um(&self, count: usize) -> f64 {
        SIGMAS * self.standard_um() / (count as f64).sqrt()
    }
}

/// Computes the mean; `None` of nothing.
pub(super) fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Computes by how much each value but the first differs from the one before.
pub fn moving_ranges(values: &[f64]) -> Vec<f64> {
    values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The worked example of NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, flow rates, to its printed digits.
    #[test]
    fn the_limits_are_those_of_the_published_example() {
        let flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
        let ranges: Vec<String> = moving_ranges(&flow).iter().map(|r| format!("{r:.1}")).collect();
        assert_eq!(
            ranges,
            ["2.0", "2.3", "1.4", "3.5", "3.4", "1.4", "0.2", "1.2", "1.5"]
        );
        let limits = ControlLimits::of(&flow).expect("ten values");
        let printed = |value: f64| format!("{value:.4}");
        assert_eq!(format!("{:.2}", limits.mean_um), "50.81");
        assert_eq!(printed(limits.mean_range_um), "1.8778");
        assert_eq!(printed(limits.upper_um), "55.8041");
        assert_eq!(printed(limits.lower_um), "45.8159");
        assert!((limits.upper_range_um - 3.267 * limits.mean_range_um).abs() < 1e-12);
    }

    /// d₂ of two values is 2/√π (E. S. Pearson and H. O. Hartley, Biometrika Tables, from memory); D₄ = 1 + 3·d₃/d₂ with
    /// d₃ = √(2 − 4/π).
    #[test]
    fn the_constants_are_those_of_a_normal_distribution() {
        let pi = std::f64::consts::PI;
        let d2 = 2.0 / pi.sqrt();
        assert!((MEAN_RANGE_OF_TWO - d2).abs() < 0.0005);
        let d3 = (2.0 - 4.0 / pi).sqrt();
        assert!((HIGHEST_RANGE_OF_TWO - (1.0 + SIGMAS * d3 / d2)).abs() < 0.0005);
    }

    #[test]
    fn one_value_sets_no_limits() {
        assert_eq!(ControlLimits::of(&[1.0]), None);
        assert_eq!(ControlLimits::of(&[]), None);
    }
}
