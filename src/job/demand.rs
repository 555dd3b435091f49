use super::{ByContour, FillFrom, Finish, Tolerance};

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
    /// The last of its passes that is run, where the later ones are left for another time: what they take off stays on.
    pub stop_after: Option<usize>,
}

/// Demands for the whole job, its layers and its contours.
pub type Demands = ByContour<Demand>;

impl FillFrom for Demand {
    fn or(&self, whole: &Self) -> Self {
        Self {
            finish: self.finish.clone().or_else(|| whole.finish.clone()),
            tolerance: self.tolerance.clone().or_else(|| whole.tolerance.clone()),
            passes: self.passes.or(whole.passes),
            inside_radius_mm: self.inside_radius_mm.or(whole.inside_radius_mm),
            clearance_mm: self.clearance_mm.or(whole.clearance_mm),
            aim_mm: self.aim_mm.or(whole.aim_mm),
            stop_after: self.stop_after.or(whole.stop_after),
        }
    }
}

impl Demand {
    /// Whether a requirement decides the number of passes.
    pub fn decides_passes(&self) -> bool {
        self.finish.is_some() || self.tolerance.is_some() || self.passes.is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::ContourId;

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
