//! A plan for what the print demands: wire, machine and passes are chosen, then offset and verified.

use super::choice::Constraints;
use super::demand_group::DemandGroups;
use super::selection_input::SelectionInput;
use crate::cancel::CancelToken;
use crate::estimate::Order;
use crate::job::{Demands, JobFile, Nozzles, OffsetBasis, Prefer, WireOptions, Workholding};
use crate::pass;
use crate::shop::{Book, Material};

/// What is wanted of a drawing.
#[derive(Clone, Debug)]
pub struct Requirements {
    /// The job that they come from.
    pub job: JobFile,
    /// Name or alias of the material.
    pub material: String,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// What the print demands.
    pub demands: Demands,
    /// What may be chosen from.
    pub open: Constraints,
    /// What decides between plans that reach what is asked.
    pub prefer: Prefer,
    /// How the nozzles sit.
    pub nozzles: Nozzles,
    /// What is ordered.
    pub order: Order,
    /// Distance from the farthest feature to its pick-up, mm; the diagonal of the cut when `None`.
    pub pickup_mm: Option<f64>,
    /// How well the offset is known.
    pub offset_basis: OffsetBasis,
    /// A taper or a land is asked for.
    pub tapered: bool,
    /// How the work is held, and what is asked of the pieces.
    pub holding: Workholding,
    /// How the wire is threaded and runs.
    pub running: WireOptions,
    /// How long it is waited for.
    pub cancel: CancelToken,
}

impl Requirements {
    /// The book's usual demand, everything left open.
    pub fn new(material: impl Into<String>, thickness_mm: f64) -> Self {
        let material = material.into();
        Self {
            job: JobFile {
                material: Some(material.clone()),
                thickness_mm: Some(thickness_mm),
                ..JobFile::default()
            },
            material,
            thickness_mm,
            demands: Demands::default(),
            open: Constraints::default(),
            prefer: Prefer::default(),
            nozzles: Nozzles::default(),
            order: Order::default(),
            pickup_mm: None,
            offset_basis: OffsetBasis::default(),
            tapered: false,
            holding: Workholding::default(),
            running: WireOptions::default(),
            cancel: CancelToken::default(),
        }
    }
}

impl Requirements {
    /// The material; an error where the book has it, the machine or the wire not.
    pub(super) fn look_up<'b>(&self, book: &'b Book) -> Result<&'b Material, pass::Error> {
        let material = book.material(&self.material)?;
        if !(self.thickness_mm.is_finite() && self.thickness_mm > 0.0) {
            return Err(pass::Error::Thickness(self.thickness_mm));
        }
        book.machine(self.open.machine.as_deref())?;
        if let Some(wire_mm) = self.open.wire_mm {
            let kind = self.open.wire_kind.as_deref().unwrap_or(&book.wire.kind);
            book.wire(wire_mm, kind)?;
        }
        Ok(material)
    }

    /// What is to be weighed for contours that are sorted.
    pub(super) fn input<'b>(
        &self,
        sorted: &DemandGroups,
        book: &'b Book,
        material: &'b Material,
    ) -> SelectionInput<'b> {
        let mut input = SelectionInput::new(
            sorted,
            book,
            material,
            self.thickness_mm,
            self.nozzles,
            self.order,
        );
        input.pickup_mm = self.pickup_mm.unwrap_or(input.pickup_mm);
        input.blank.tapered = self.tapered;
        input.offset_basis = self.offset_basis;
        input
    }
}

#[cfg(test)]
mod tests;
