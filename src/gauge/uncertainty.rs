//! Uncertainty after JCGM 100:2008 (GUM): standard uncertainties combined by squares, effective degrees of freedom by the
//! Welch–Satterthwaite formula, the coverage factor from Student's t.

use serde::{Serialize, Serializer};

use crate::calibrate::student;

/// One source of uncertainty of a result.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct UncertaintyTerm {
    /// What it is, in words.
    pub name: &'static str,
    /// Its standard uncertainty as it counts in the result, µm.
    pub standard_um: f64,
    /// Its degrees of freedom; null where it is no estimate from readings.
    #[serde(serialize_with = "finite_or_null")]
    #[cfg_attr(test, schemars(with = "Option<f64>"))]
    pub degrees: f64,
}

/// How far a result may be off.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct Uncertainty {
    /// Combined standard uncertainty, µm.
    pub standard_um: f64,
    /// Effective degrees of freedom, not rounded; null where nothing in it was estimated from readings.
    #[serde(serialize_with = "finite_or_null")]
    #[cfg_attr(test, schemars(with = "Option<f64>"))]
    pub degrees: f64,
    /// Coverage factor for 95 %.
    pub k: f64,
    /// Expanded uncertainty, k times the combined one, µm.
    pub expanded_um: f64,
}

/// Share of the cases that an expanded uncertainty leaves outside.
pub(super) const OUTSIDE: f64 = 0.05;

impl UncertaintyTerm {
    /// Makes a term that was estimated from readings (type A).
    pub(super) const fn read(name: &'static str, standard_um: f64, degrees: f64) -> Self {
        Self {
            name,
            standard_um,
            degrees,
        }
    }

    /// Makes a term of which only the limits are known, plus or minus (type B, rectangular: JCGM 100, 4.3.7).
    pub(super) fn within(name: &'static str, half_width_um: f64) -> Self {
        Self {
            name,
            standard_um: half_width_um / 3.0_f64.sqrt(),
            degrees: f64::INFINITY,
        }
    }
}

impl Uncertainty {
    /// Combines terms that do not hang together (JCGM 100, 5.1.2, G.4.1 and G.6.4); all but the share `outside` of the cases lie within the
    /// expanded one. The degrees of freedom are not rounded down.
    pub(super) fn of(terms: &[UncertaintyTerm], outside: f64) -> Self {
        let variance: f64 = terms.iter().map(|term| term.standard_um.powi(2)).sum();
        let spread: f64 = terms
            .iter()
            .map(|term| term.standard_um.powi(4) / term.degrees)
            .sum();
        let degrees = if spread > 0.0 {
            variance.powi(2) / spread
        } else {
            f64::INFINITY
        };
        let k = student::half_width(outside, degrees);
        let standard_um = variance.sqrt();
        Self {
            standard_um,
            degrees,
            k,
            expanded_um: k * standard_um,
        }
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "the shape serde asks for")]
fn finite_or_null<S: Serializer>(value: &f64, to: S) -> Result<S::Ok, S::Error> {
    value.is_finite().then_some(value).serialize(to)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008, annex H.1, the calibration of an end gauge, and G.4 (from memory, not verified): u_c = 32 nm, 16 effective degrees of
    /// freedom (16.7 before they are rounded down), t of 99 % = 2.92, U = 93 nm.
    #[test]
    fn the_end_gauge_of_the_guide() {
        let terms = [
            UncertaintyTerm::read("standard", 0.025, 18.0),
            UncertaintyTerm::read("difference", 0.0097, 25.6),
            UncertaintyTerm::read("expansion", 0.0029, 50.0),
            UncertaintyTerm::read("temperature", 0.0166, 2.0),
        ];
        let found = Uncertainty::of(&terms, 0.01);
        assert!((found.standard_um - 0.032).abs() < 0.0005, "{found:?}");
        assert!((found.degrees - 16.7).abs() < 0.15, "{found:?}");
        let rounded_down = student::half_width(0.01, 16.0);
        assert!((rounded_down - 2.92).abs() < 0.005, "{rounded_down}");
        let expanded_um = 0.032 * rounded_down;
        assert!((expanded_um - 0.093).abs() < 0.0006, "{expanded_um}");
        // Not rounded down it is a little less.
        assert!(found.k < rounded_down && found.k > student::half_width(0.01, 17.0));
    }

    /// JCGM 100:2008, G.6.4 with one term alone: its own degrees of freedom; with limits alone: the normal distribution.
    #[test]
    fn one_term_keeps_its_own_degrees() {
        let found = Uncertainty::of(&[UncertaintyTerm::read("repeat", 0.4, 2.0)], OUTSIDE);
        assert!(
            (found.degrees - 2.0).abs() < 1e-12 && (found.k - 4.303).abs() < 5e-4,
            "{found:?}"
        );
        let found = Uncertainty::of(&[UncertaintyTerm::within("limits", 1.0)], OUTSIDE);
        assert!(
            found.degrees.is_infinite() && (found.k - 1.960).abs() < 5e-4,
            "{found:?}"
        );
        assert!((found.standard_um - 1.0 / 3.0_f64.sqrt()).abs() < 1e-15);
    }
}
