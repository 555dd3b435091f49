use std::collections::BTreeMap;

use super::{Finish, Tolerance};
use crate::id::ContourId;

/// The requirements of the print for a contour; `None` where it calls for nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Demand {
    /// Finish of the wall.
    pub finish: Option<Finish>,
    /// Tolerance of size or profile.
    pub tolerance: Option<Tolerance>,
    /// Number of passes, where it is prescribed.
    pub passes: Option<usize>,
    /// Smallest inside radius that has to come out, mm, beside those of the drawing.
    pub inside_radius_mm: Option<f64>,
    /// Clearance that this wall gives, mm per side: the wall moves so far into its material.
    pub clearance_mm: Option<f64>,
    /// Signed shift of the wall into the material, mm, where it is prescribed: it goes before the limits.
    pub aim_mm: Option<f64>,
}

/// Demands for the whole job, its layers and its contours.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Demands {
    /// For all.
    pub all: Demand,
    /// By layer name, without case.
    pub layers: BTreeMap<String, Demand>,
    /// By contour number.
    pub contours: BTreeMap<ContourId, Demand>,
}

impl Demand {
    /// Fills what this demand leaves open from `other`.
    #[must_use]
    pub fn or(&self, other: &Self) -> Self {
        Self {
            finish: self.finish.clone().or_else(|| other.finish.clone()),
            tolerance: self.tolerance.clone().or_else(|| other.tolerance.clone()),
            passes: self.passes.or(other.passes),
            inside_radius_mm: self.inside_radius_mm.or(other.inside_radius_mm),
            clearance_mm: self.clearance_mm.or(other.clearance_mm),
            aim_mm: self.aim_mm.or(other.aim_mm),
        }
    }

    /// Whether a requirement decides the number of passes.
    pub fn decides_passes(&self) -> bool {
        self.finish.is_some() || self.tolerance.is_some() || self.passes.is_some()
    }
}

impl Demands {
    /// Returns the demand on a contour: its own first, then its layer's, then the job's.
    pub fn on(&self, contour: ContourId, layer: &str) -> Demand {
        let own = self.contours.get(&contour).cloned().unwrap_or_default();
        let of_layer = self
            .layers
            .iter()
            .find(|(name, _)| name.to_lowercase() == layer.to_lowercase());
        let with_layer = of_layer.map_or_else(|| own.clone(), |(_, demand)| own.or(demand));
        with_layer.or(&self.all)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_demand_speaks_first() {
        let passes = |n| Demand {
            passes: Some(n),
            ..Demand::default()
        };
        let mut die = passes(4);
        die.clearance_mm = Some(0.01);
        let demands = Demands {
            all: passes(1),
            layers: [("DIE".to_owned(), die)].into(),
            contours: [(ContourId::nth(7), passes(5))].into(),
        };
        assert_eq!(demands.on(ContourId::nth(1), "0").passes, Some(1));
        assert_eq!(demands.on(ContourId::nth(2), "die").passes, Some(4));
        assert_eq!(
            demands.on(ContourId::nth(7), "Die"),
            Demand {
                passes: Some(5),
                clearance_mm: Some(0.01),
                ..Demand::default()
            }
        );
    }
}
