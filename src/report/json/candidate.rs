use serde::Serialize;

use crate::estimate::JobTotals;
use crate::message::Message;
use crate::plan::{Candidate, FigureBasis, Remedy};
use crate::report::words;
use crate::units::Band;

/// A combination of wire, machine and passes, as weighed.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct CandidateRow<'a> {
    /// Diameter of the wire, mm.
    wire_mm: f64,
    /// Kind of the wire.
    wire_kind: &'a str,
    /// Name of the machine.
    machine: &'a str,
    /// Most passes of any demand group.
    passes: usize,
    /// Passes of each demand group.
    passes_by_group: &'a [usize],
    /// It can be cut, whatever is asked of the wall.
    possible: bool,
    /// It is expected to reach all that is asked.
    feasible: bool,
    /// Why it is not feasible, a sentence each.
    reasons: Vec<String>,
    /// Where minutes, cost and accuracy come from: `computed` from its own paths, the same as in a plan of it, or `estimated` from
    /// perimeters, no more than a plan of it gives.
    figures: FigureBasis,
    /// Minutes that all that is drawn, cut once, takes the machine, without set-up; null where it cannot be cut.
    machine_minutes: Option<Band>,
    /// Minutes that one piece takes the machine, without set-up.
    piece_minutes: Option<Band>,
    /// Minutes that the order takes the machine: all pieces, set-ups and changes of spools.
    order_minutes: Option<Band>,
    /// Cost of one piece beside the fixed part, in the currency of the book.
    cost_piece: Option<Band>,
    /// Cost of the order: the fixed part and all pieces.
    cost_order: Option<Band>,
    /// Price of the order with margin, at least the minimum charge; to be checked before it is offered.
    price_indicative: Option<Band>,
    /// Old: expected minutes of all that is drawn, cut once, with a set-up and its start holes.
    minutes: Option<f64>,
    /// The same with its band.
    minutes_band: Option<Band>,
    /// Old: the expected value of `cost_order`.
    cost: Option<f64>,
    /// The same with its band.
    cost_band: Option<Band>,
    /// Expected Ra of the roughest demand group, µm; null where it cannot be cut.
    ra_um: Option<f64>,
    /// The same with its band.
    ra_band_um: Option<Band>,
    /// Largest expected error on size, µm, with the offset gauged on a test piece unless the job says `modelled`; null where it cannot be cut.
    accuracy_um: Option<f64>,
    /// The same before a test piece is gauged, with the offset as modelled, µm.
    accuracy_modelled_um: Option<f64>,
    /// Smallest inside radius left on the part, mm; null where it cannot be cut.
    min_inside_radius_mm: Option<f64>,
    /// Largest deviation at inside corners that the wire does not reach, µm; null without inside corners.
    unreached_um: Option<f64>,
    /// No other that can be cut is at least as good in time, cost, finish and accuracy and better in one, by the figures that each has.
    non_dominated: bool,
    /// It is the one taken.
    chosen: bool,
}

impl<'a> CandidateRow<'a> {
    pub(super) fn new(candidate: &'a Candidate) -> Self {
        let expected = |band: Option<Band>| band.map(|band| band.expected);
        let of = |figure: fn(JobTotals) -> Band| candidate.totals.map(figure);
        Self {
            wire_mm: candidate.wire_mm,
            wire_kind: &candidate.wire_kind,
            machine: &candidate.machine,
            passes: candidate.passes,
            passes_by_group: &candidate.passes_by_group,
            possible: candidate.possible,
            feasible: candidate.feasible,
            reasons: candidate.reasons.iter().map(ToString::to_string).collect(),
            figures: candidate.basis,
            machine_minutes: of(|totals| totals.machine_minutes),
            piece_minutes: of(|totals| totals.piece_minutes),
            order_minutes: of(|totals| totals.order_minutes),
            cost_piece: of(|totals| totals.cost_piece),
            cost_order: of(|totals| totals.cost_order),
            price_indicative: of(|totals| totals.price_indicative),
            minutes: expected(candidate.minutes),
            minutes_band: candidate.minutes,
            cost: expected(of(|totals| totals.cost_order)),
            cost_band: of(|totals| totals.cost_order),
            ra_um: expected(candidate.ra_um),
            ra_band_um: candidate.ra_um,
            accuracy_um: candidate.accuracy_um,
            accuracy_modelled_um: candidate.accuracy_modelled_um,
            min_inside_radius_mm: candidate.min_inside_radius_mm,
            unreached_um: candidate.unreached_um,
            non_dominated: candidate.non_dominated,
            chosen: candidate.chosen,
        }
    }
}

/// A remedy that was tried.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct RemedyRow<'a> {
    /// What is changed, in words.
    change: Message,
    #[serde(flatten)]
    remedy: &'a Remedy,
}

impl<'a> RemedyRow<'a> {
    pub(super) fn new(remedy: &'a Remedy) -> Self {
        Self {
            change: words::remedy(&remedy.kind),
            remedy,
        }
    }
}
