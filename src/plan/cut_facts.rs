//! What the paths of a combination tell of it.

use super::Shortfall;
use crate::estimate::Estimate;
use crate::id::ContourId;
use crate::process::Process;
use crate::toolpath::{Incomplete, IncompleteReason, Toolpaths, Unreached};

/// What follows from the paths of a combination.
#[derive(Clone, Copy)]
pub(super) struct CutFacts<'a> {
    pub(super) toolpaths: &'a Toolpaths,
    pub(super) process: &'a Process,
    pub(super) estimate: &'a Estimate,
}

impl CutFacts<'_> {
    /// Returns what the real paths miss of what is called for.
    pub(super) fn missed(&self) -> Vec<Shortfall> {
        let (toolpaths, process) = (&self.toolpaths, &self.process);
        // No other wire tells which side stays, or closes a contour.
        let hangs_on_wire = |contour: ContourId| {
            toolpaths
                .incomplete(contour)
                .is_some_and(Incomplete::hangs_on_wire)
        };
        let mut refusals = toolpaths.refusals.iter();
        let refused = refusals.find(|refusal| hangs_on_wire(refusal.contour));
        let refused = refused.map(|refusal| Shortfall::PathRefused {
            pass: refusal.pass,
            contour: refusal.contour,
            at: refusal.at,
            reason: refusal.reason,
        });
        let incomplete = toolpaths.incomplete.iter();
        let without_room: Vec<Incomplete> = incomplete
            .filter(|incomplete| {
                incomplete.hangs_on_wire()
                    && !matches!(incomplete.reason, IncompleteReason::PathRefused { .. })
            })
            .copied()
            .collect();
        let too_large = process.beyond_machine.iter().cloned();
        let beyond = |place: &&Unreached| place.tolerance_mm.is_some_and(|mm| place.deviation_mm > mm);
        let places = toolpaths.unreached.iter().filter(beyond);
        let worst = places.max_by(|a, b| a.deviation_mm.total_cmp(&b.deviation_mm));
        let off = worst.map(|place| Shortfall::PathOff {
            off_mm: place.deviation_mm,
            at: place.at,
            tolerance_mm: place.tolerance_mm.unwrap_or_default(),
        });
        refused
            .into_iter()
            .chain(Shortfall::of_incomplete(&without_room))
            .chain(too_large.map(Shortfall::BeyondMachine))
            .chain(off)
            .collect()
    }
}
