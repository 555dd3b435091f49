//! What candidates are compared for: the contours by demand group, and what is the same for all candidates.

use super::demand_group::{DemandGroup, DemandGroups};
use super::requirement::{Blank, mass_kg};
use super::wire_and_machine::WireAndMachine;
use crate::estimate::{AuxiliaryWork, Order};
use crate::job::{Nozzles, OffsetBasis};
use crate::pass::PassRequest;
use crate::shop::{Book, Material};

/// What candidates are compared for.
#[derive(Clone, Debug)]
pub struct SelectionInput<'a> {
    /// The book.
    pub book: &'a Book,
    /// Name of the material.
    pub material: &'a str,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// How the nozzles sit.
    pub nozzles: Nozzles,
    /// The work on the table.
    pub blank: Blank,
    /// What is cut, by demand group.
    pub demand_groups: Vec<DemandGroup>,
    /// What a piece asks for beside its passes; pass changes are filled in.
    pub work: AuxiliaryWork,
    /// What is ordered.
    pub order: Order,
    /// Distance from the farthest feature to its pick-up, mm.
    pub pickup_mm: f64,
    /// How well the offset is known.
    pub offset_basis: OffsetBasis,
    /// Swing of the room from night to day, K, where it is not the book's.
    pub room_swing_k: Option<f64>,
}

impl<'a> SelectionInput<'a> {
    /// Gathers it from the groups. The mass on the table is that of a plate as large as what is cut.
    pub fn new(
        groups: &DemandGroups,
        book: &'a Book,
        material: &'a Material,
        thickness_mm: f64,
        nozzles: Nozzles,
        order: Order,
    ) -> Self {
        let [extent_x_mm, extent_y_mm] = groups.extent_mm;
        Self {
            book,
            material: &material.name,
            thickness_mm,
            nozzles,
            blank: Blank {
                extent_x_mm,
                extent_y_mm,
                mass_kg: Some(mass_kg(material, extent_x_mm * extent_y_mm, thickness_mm)),
                tapered: false,
            },
            demand_groups: groups.demand_groups.clone(),
            work: groups.work.clone(),
            order,
            pickup_mm: groups.diagonal_mm(),
            offset_basis: OffsetBasis::default(),
            room_swing_k: None,
        }
    }

    /// Returns the request for passes of a group with a wire on a machine.
    pub(super) fn request(&self, setup: &WireAndMachine, group: &DemandGroup, passes: usize) -> PassRequest {
        PassRequest {
            material: self.material.to_owned(),
            thickness_mm: self.thickness_mm,
            wire_mm: setup.wire_mm,
            wire_kind: Some(setup.wire_kind.clone()),
            passes,
            aim_mm: group.requirement.aim_mm,
            nozzles: self.nozzles,
            machine: Some(setup.machine.clone()),
            stop_after: group.requirement.stop_after,
        }
    }
}
