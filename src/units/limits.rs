use super::UM_PER_MM;

/// Which way a feature bounds material.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Feature {
    /// Material outside is kept, as around a bore.
    Hole,
    /// Material inside is kept, as in a punch.
    Shaft,
}

/// Limits of a size, as deviations from nominal. `lower_mm <= upper_mm`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Lower deviation, mm.
    pub lower_mm: f64,
    /// Upper deviation, mm.
    pub upper_mm: f64,
}

impl Limits {
    /// From deviations in µm.
    pub fn from_um(lower_um: f64, upper_um: f64) -> Self {
        Self {
            lower_mm: lower_um / UM_PER_MM,
            upper_mm: upper_um / UM_PER_MM,
        }
    }

    /// Computes half the distance between the limits, mm.
    pub fn half_width_mm(self) -> f64 {
        (self.upper_mm - self.lower_mm) / 2.0
    }

    /// Middle of the limits, mm from nominal.
    pub fn middle_mm(self) -> f64 {
        f64::midpoint(self.upper_mm, self.lower_mm)
    }

    /// How far each wall has to move into the material, mm, for the size to stand at mid-limit. A size has two
    /// walls, so each moves half; a hole grows into its material, a shaft shrinks into it.
    pub fn aim_mm(self, feature: Feature) -> f64 {
        match feature {
            Feature::Hole => self.middle_mm() / 2.0,
            Feature::Shaft => -self.middle_mm() / 2.0,
        }
    }
}
