//! Plans for the requirements of the print: chooses wire, machine and passes, then offsets and verifies.

use super::wire_and_machine::Constraints;
use crate::estimate::OrderRequest;
use crate::job::{Demands, JobFile, Nozzles, OffsetBasis, Prefer, WireOptions, Workholding};
use crate::pass;
use crate::shop::{Book, Material};

/// The requirements of a drawing.
#[derive(Clone, Debug)]
pub(super) struct Requirements {
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
    /// What decides between plans that meet the requirements.
    pub prefer: Prefer,
    /// How the nozzles sit.
    pub nozzles: Nozzles,
    /// What is given of the order.
    pub order: OrderRequest,
    /// Distance from the farthest feature to its pick-up, mm; the diagonal of the cut when `None`.
    pub pickup_mm: Option<f64>,
    /// How well the offset is known.
    pub offset_basis: OffsetBasis,
    /// The print calls for a taper or a land.
    pub tapered: bool,
    /// How the work is held, and the options of the pieces.
    pub holding: Workholding,
    /// How the wire is threaded and runs.
    pub running: WireOptions,
}

impl Requirements {
    /// Makes requirements with the default demand of the book and everything left open.
    pub(super) fn new(material: impl Into<String>, thickness_mm: f64) -> Self {
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
            order: OrderRequest::default(),
            pickup_mm: None,
            offset_basis: OffsetBasis::default(),
            tapered: false,
            holding: Workholding::default(),
            running: WireOptions::default(),
        }
    }
}

impl Requirements {
    /// Returns the material; an error where the book lacks it, the machine or the wire.
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
}

#[cfg(test)]
mod tests;
