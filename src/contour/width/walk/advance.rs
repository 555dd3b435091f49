//! How far a walk has come since a look.

use super::TURN_STEP_RAD;

/// A way along a contour.
#[derive(Clone, Copy, Default)]
pub(super) struct Advance {
    /// In mm.
    pub length: f64,
    /// In radians, either way.
    pub turned: f64,
}

impl Advance {
    /// Nothing was seen yet.
    pub(super) const ENDLESS: Self = Self {
        length: f64::INFINITY,
        turned: 0.0,
    };

    /// Whether it is `step` mm long, or turns as far as may be left between two looks.
    pub(super) fn reaches(self, step: f64) -> bool {
        self.length >= step || self.turned >= TURN_STEP_RAD
    }
}
