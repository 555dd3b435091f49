use serde::Serialize;

use super::rows::Rows;
use crate::geometry::{Point, Polyline};
use crate::id::{ContourId, GroupId, PassNo};
use crate::plan::{Plan, TimedOperation};
use crate::process::{Leads, Start};
use crate::report::steps;
use crate::toolpath::WireLoop;

/// Where the wire is threaded.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct StartRow<'a> {
    /// Number of the start, from 1.
    start: usize,
    #[serde(flatten)]
    place: &'a Start,
}

/// The way of the wire on and off a path.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct LeadRow<'a> {
    /// Number of the contour.
    contour: ContourId,
    /// Number of the demand group, from 1.
    group: GroupId,
    /// Number of the pass, from 1.
    pass: PassNo,
    /// Number of the start.
    start: usize,
    /// Where it meets the path, mm.
    entry_mm: Point,
    /// Along the path from its first vertex to the entry, mm.
    entry_along_mm: f64,
    /// `[x, y, bulge]`, mm, from the start onto the path.
    lead_in: &'a Polyline,
    /// Length of the lead-in that is cut, mm.
    lead_cut_mm: f64,
    /// How far the path is run on past its entry, mm.
    overlap_mm: f64,
    /// `[x, y, bulge]`, mm, from the end of the overlap back to the start.
    lead_out: &'a Polyline,
}

/// A step of the cut.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct StepRow {
    /// Number of the step, from 1.
    step: usize,
    /// Number of the contour.
    contour: ContourId,
    /// Number of the pass, from 1.
    pass: PassNo,
    /// What is done: `travel`, `thread`, `lead-in`, `coreless`, `rough`, `skim`, `lead-out`, `adjust`, `stop`, `cut-off`, `skim-tab` or
    /// `remove`.
    kind: &'static str,
    /// Length that the wire runs, mm.
    length_mm: f64,
    /// Expected minutes of it, without what makes the wire slower.
    minutes: f64,
    /// Minutes that engagement, corners and wire breaks add.
    slower_minutes: f64,
    /// Minutes from the first step to its beginning, with what makes the wire slower.
    from_minutes: f64,
    /// Where it begins, mm.
    at_mm: Point,
    /// The operator has to be present; cutting itself runs alone.
    attended: bool,
    /// Mass of the piece that it is about, kg; null where it is about none.
    mass_kg: Option<f64>,
    /// What is done, in words.
    words: String,
}

pub(super) const fn starts(plan: &Plan) -> Rows<'_, Plan, StartRow<'_>> {
    Rows::new(plan, |plan| {
        let list = (1..).zip(&plan.process.starts.list);
        Box::new(list.map(|(start, place)| StartRow { start, place }))
    })
}

pub(super) const fn leads(plan: &Plan) -> Rows<'_, Plan, LeadRow<'_>> {
    Rows::new(plan, |plan| {
        let runs = plan.toolpaths.loops.iter().zip(&plan.process.leads);
        Box::new(runs.map(|(wire, run)| lead_row(wire, run)))
    })
}

fn lead_row<'a>(wire: &WireLoop, run: &'a Leads) -> LeadRow<'a> {
    LeadRow {
        contour: wire.contour,
        group: wire.group,
        pass: wire.pass,
        start: run.start + 1,
        entry_mm: run.entry,
        entry_along_mm: run.entry_mm,
        lead_in: &run.lead_in,
        lead_cut_mm: run.lead_cut_mm,
        overlap_mm: run.overlap_mm,
        lead_out: &run.lead_out,
    }
}

pub(super) const fn sequence(plan: &Plan) -> Rows<'_, Plan, StepRow> {
    Rows::new(plan, |plan| {
        let steps = (1..).zip(plan.steps());
        Box::new(steps.map(|(number, step)| step_row(plan, number, &step)))
    })
}

fn step_row(plan: &Plan, number: usize, step: &TimedOperation) -> StepRow {
    let separation = step.separation.and_then(|i| plan.process.separations.get(i));
    StepRow {
        step: number,
        contour: step.contour,
        pass: step.pass,
        kind: steps::name(step.kind),
        length_mm: step.length_mm,
        minutes: step.minutes,
        slower_minutes: step.slower_minutes,
        from_minutes: step.clock_minutes,
        at_mm: step.at,
        attended: step.attended,
        mass_kg: separation.map(|separation| separation.piece.mass_kg),
        words: steps::words(plan, step),
    }
}
