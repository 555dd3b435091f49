//! Conversions at the edges. Inside the crate everything is plain `f64` with the unit in the name.

mod length;

use serde::{Deserialize, Serialize};

pub use length::{Unit, unit_named, unit_names, unit_of_code};

/// Micrometres in a millimetre.
pub const UM_PER_MM: f64 = 1000.0;

/// Millimetres in an inch, exact (international yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// What is expected, between the low and the high end of what may happen. The unit is in the name of the
/// field that holds it. `low <= expected <= high`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Band {
    /// Low end.
    pub low: f64,
    /// What is expected.
    pub expected: f64,
    /// High end.
    pub high: f64,
}

impl Band {
    /// A figure that is exactly known.
    pub const fn exact(value: f64) -> Self {
        Self {
            low: value,
            expected: value,
            high: value,
        }
    }

    /// All three times a positive `factor`.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self {
            low: self.low * factor,
            expected: self.expected * factor,
            high: self.high * factor,
        }
    }
}
