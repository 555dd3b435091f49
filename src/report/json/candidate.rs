use serde::Serialize;

use crate::plan::Candidate;
use crate::units::Band;

/// A combination of wire, machine and passes, as weighed.
#[derive(Serialize)]
pub(super) struct CandidateRow<'a> {
    wire_mm: f64,
    wire_kind: &'a str,
    machine: &'a str,
    /// Most of any demand group.
    passes: usize,
    passes_by_group: &'a [usize],
    /// It can be cut, whatever is asked of the wall.
    possible: bool,
    /// It is expected to reach all that is asked.
    feasible: bool,
    reasons: &'a [String],
    minutes: Option<f64>,
    minutes_band: Option<Band>,
    cost: Option<f64>,
    cost_band: Option<Band>,
    ra_um: Option<f64>,
    ra_band_um: Option<Band>,
    /// Largest expected error on size.
    accuracy_um: Option<f64>,
    min_inside_radius_mm: Option<f64>,
    unreached_um: Option<f64>,
    non_dominated: bool,
    chosen: bool,
}

impl<'a> CandidateRow<'a> {
    pub(super) fn new(candidate: &'a Candidate) -> Self {
        let expected = |band: Option<Band>| band.map(|band| band.expected);
        Self {
            wire_mm: candidate.wire_mm,
            wire_kind: &candidate.wire_kind,
            machine: &candidate.machine,
            passes: candidate.passes,
            passes_by_group: &candidate.passes_by_group,
            possible: candidate.possible,
            feasible: candidate.feasible,
            reasons: &candidate.reasons,
            minutes: expected(candidate.minutes),
            minutes_band: candidate.minutes,
            cost: expected(candidate.cost),
            cost_band: candidate.cost,
            ra_um: expected(candidate.ra_um),
            ra_band_um: candidate.ra_um,
            accuracy_um: candidate.accuracy_um,
            min_inside_radius_mm: candidate.min_inside_radius_mm,
            unreached_um: candidate.unreached_um,
            non_dominated: candidate.non_dominated,
            chosen: candidate.chosen,
        }
    }
}
