use super::Shortfall;
use crate::job::{Demand, DemandError, FillFrom, Finish, Scope, Tolerance};
use crate::message::{Message, message};
use crate::process::{MachineLoad, beyond_machine};
use crate::shop::{Book, Machine, Material, Wire};
use crate::units::{Feature, Limits};

/// The requirement on a group of contours, in numbers.
#[derive(Clone, Debug, Default, PartialEq)]
#[cfg_attr(not(feature = "internals"), non_exhaustive)]
pub struct WallRequirement {
    /// Highest Ra, µm.
    pub ra_um: Option<f64>,
    /// Limits, and whether they are of a size or of a wall.
    pub limits: Option<(Limits, Scope)>,
    /// Signed shift of the finished wall into the material, mm.
    pub aim_mm: f64,
    /// How far a prescribed aim lies off the middle of the limits, mm a wall.
    pub off_middle_mm: f64,
    /// Number of passes, where it is prescribed.
    pub passes: Option<usize>,
    /// Smallest inside radius that has to come out, mm.
    pub inside_radius_mm: Option<f64>,
    /// The last of the passes that is run, where later ones are left for another time.
    pub stop_after: Option<usize>,
}

/// Returns the demand, with the default of the book where nothing decides the passes; and then the assumption, in words.
pub fn with_default(demand: &Demand, book: &Book) -> Result<(Demand, Option<Message>), DemandError> {
    if demand.decides_passes() {
        return Ok((demand.clone(), None));
    }
    let usual = Demand {
        finish: Some(Finish::parse(&book.default_finish)?),
        tolerance: Some(Tolerance::parse(&book.default_tolerance)?),
        ..Demand::default()
    };
    let words = message!(
        "no finish and no tolerance is given: planned for {} and {}, the default requirement of the shop data",
        book.default_finish,
        book.default_tolerance
    );
    Ok((demand.or(&usual), Some(words)))
}

/// Returns, in words, as which material of the book one is cut that was asked for by another name.
pub(super) fn material_assumption(asked: &str, material: &Material) -> Option<Message> {
    let asked = asked.trim();
    let standard = material.designation(asked);
    let standard = standard.map_or_else(String::new, |found| format!(" ({})", found.standard));
    (asked != material.name).then(|| {
        message!(
            "material {}{} is cut as {}: {}",
            asked,
            standard,
            material.name,
            material.title
        )
    })
}

impl WallRequirement {
    /// Converts a demand on a feature of nominal size `size_mm`. The aim, unless prescribed, is the middle of the limits
    /// and then the clearance, each a wall. Of a wall that later passes are to finish neither finish nor limits are asked.
    pub fn new(demand: &Demand, feature: Feature, size_mm: f64) -> Result<Self, DemandError> {
        let limits = demand
            .tolerance
            .as_ref()
            .map(|tolerance| tolerance.limits(size_mm))
            .transpose()?;
        let stop_after = demand.stop_after.map(|last| match demand.passes {
            Some(passes) => Ok((last < passes).then_some(last)),
            None => Err(DemandError::StopAfter),
        });
        let stop_after = stop_after.transpose()?.flatten();
        let middle_mm = limits.map_or(0.0, |(limits, _)| limits.aim_mm(feature));
        let usual_mm = middle_mm + demand.clearance_mm.unwrap_or(0.0);
        let aim_mm = demand.aim_mm.unwrap_or(usual_mm);
        Ok(Self {
            ra_um: demand
                .finish
                .as_ref()
                .map(|finish| finish.ra_um)
                .filter(|_| stop_after.is_none()),
            limits: limits.filter(|_| stop_after.is_none()),
            aim_mm,
            off_middle_mm: if limits.is_some() { aim_mm - usual_mm } else { 0.0 },
            stop_after,
            passes: demand.passes,
            inside_radius_mm: demand.inside_radius_mm,
        })
    }
}

impl WallRequirement {
    /// Returns half the width of the limits on one wall, mm: a size has two.
    pub fn tolerance_mm(&self) -> Option<f64> {
        self.limits.map(|(limits, scope)| match scope {
            Scope::OnSize => limits.half_width_mm() / 2.0,
            Scope::PerSide => limits.half_width_mm(),
        })
    }
}

impl WallRequirement {
    /// Whether the print allows inside corners as round as a wire leaves them that leaves `left_mm`.
    pub fn may_stay_round(&self, left_mm: f64) -> bool {
        self.inside_radius_mm.is_some_and(|mm| left_mm <= mm)
    }
}

/// Size and mass of the work on the machine.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Blank {
    /// Extent of the wire's path along x, mm.
    pub extent_x_mm: f64,
    /// Extent of the wire's path along y, mm.
    pub extent_y_mm: f64,
    /// Mass on the table, kg; `None` when it is not known.
    pub mass_kg: Option<f64>,
    /// The print calls for a taper or a land.
    pub tapered: bool,
}

/// Computes the mass of a plate, kg.
pub fn mass_kg(material: &Material, area_mm2: f64, thickness_mm: f64) -> f64 {
    material.mass_kg(area_mm2 * thickness_mm)
}

/// Returns why it cannot be cut at all on this machine with this wire, whatever the passes.
pub fn obstacles(
    machine: &Machine,
    wire: Wire<'_>,
    thickness_mm: f64,
    passes: usize,
    blank: &Blank,
) -> Vec<Shortfall> {
    let wire_mm = wire.size.diameter_mm;
    let load = MachineLoad {
        extent_mm: [blank.extent_x_mm, blank.extent_y_mm],
        thickness_mm,
        mass_kg: blank.mass_kg,
        wire_mm,
        passes,
    };
    let beyond = beyond_machine(machine, &load);
    let mut obstacles: Vec<Shortfall> = beyond.into_iter().map(Shortfall::BeyondMachine).collect();
    let thickest_mm = wire.size.thickest_mm.value();
    if thickness_mm > thickest_mm {
        obstacles.push(Shortfall::TooThick {
            wire_mm,
            thickest_mm,
            thickness_mm,
        });
    }
    if blank.tapered {
        obstacles.push(Shortfall::Tapered);
    }
    obstacles
}
