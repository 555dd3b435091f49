use serde::Serialize;

use super::inspection::pair;
use super::separation::vertices;
use crate::path::StartOrigin;
use crate::plan::Plan;
use crate::report::steps;

/// Where the wire is threaded.
#[derive(Serialize)]
pub(super) struct StartRow {
    /// From 1.
    start: usize,
    contour: usize,
    at_mm: [f64; 2],
    /// `drawn`, `given`, `beside-wall`, `roomiest` or `blank-edge`.
    origin: &'static str,
    /// `None` where the wire comes in from the edge of the blank.
    hole_mm: Option<f64>,
    drift_mm: f64,
    /// Distance to the nearest wall, looked for up to `needed_mm`.
    room_mm: f64,
    needed_mm: f64,
}

/// The way of the wire on and off a path.
#[derive(Serialize)]
pub(super) struct LeadRow {
    contour: usize,
    group: usize,
    pass: usize,
    /// Number of the start.
    start: usize,
    entry_mm: [f64; 2],
    /// Along the path from its first vertex to the entry.
    entry_along_mm: f64,
    /// `[x, y, bulge]`, mm, from the start onto the path.
    lead_in: Vec<[f64; 3]>,
    /// What of the lead-in is cut.
    lead_cut_mm: f64,
    overlap_mm: f64,
    /// `[x, y, bulge]`, mm, from the end of the overlap back to the start.
    lead_out: Vec<[f64; 3]>,
}

#[derive(Serialize)]
pub(super) struct StepRow {
    step: usize,
    contour: usize,
    pass: usize,
    /// `travel`, `thread`, `lead-in`, `coreless`, `rough`, `skim`, `lead-out`, `adjust`, `stop`, `cut-off`, `skim-tab` or
    /// `remove`.
    kind: &'static str,
    length_mm: f64,
    minutes: f64,
    /// What engagement, corners and wire breaks add.
    slower_minutes: f64,
    /// When it begins, from the first step, with what makes the wire slower.
    from_minutes: f64,
    /// Where it begins.
    at_mm: [f64; 2],
    /// Somebody has to stand by; cutting itself runs alone.
    attended: bool,
    /// Of the piece that it is about.
    mass_kg: Option<f64>,
    /// What is done, in words.
    words: String,
}

pub(super) fn starts(plan: &Plan) -> Vec<StartRow> {
    let list = (1..).zip(&plan.paths.starts.list);
    list.map(|(number, start)| StartRow {
        start: number,
        contour: start.contour,
        at_mm: pair(start.at),
        origin: match start.origin {
            StartOrigin::Drawn => "drawn",
            StartOrigin::Given => "given",
            StartOrigin::BesideWall => "beside-wall",
            StartOrigin::Roomiest => "roomiest",
            StartOrigin::BlankEdge => "blank-edge",
        },
        hole_mm: start.hole_mm,
        drift_mm: start.drift_mm,
        room_mm: start.room_mm,
        needed_mm: start.needed_mm,
    })
    .collect()
}

pub(super) fn leads(plan: &Plan) -> Vec<LeadRow> {
    let runs = plan.paths.loops.iter().zip(&plan.paths.runs);
    runs.map(|(wire, run)| LeadRow {
        contour: wire.contour,
        group: wire.group,
        pass: wire.pass,
        start: run.start + 1,
        entry_mm: pair(run.entry),
        entry_along_mm: run.entry_mm,
        lead_in: vertices(&run.lead_in),
        lead_cut_mm: run.lead_cut_mm,
        overlap_mm: run.overlap_mm,
        lead_out: vertices(&run.lead_out),
    })
    .collect()
}

pub(super) fn sequence(plan: &Plan) -> Vec<StepRow> {
    let steps = (1..).zip(plan.sequence());
    steps
        .map(|(number, step)| {
            let separation = step.separation.and_then(|i| plan.paths.separations.get(i));
            StepRow {
                step: number,
                contour: step.contour,
                pass: step.pass,
                kind: steps::name(step.kind),
                length_mm: step.length_mm,
                minutes: step.minutes,
                slower_minutes: step.slower_minutes,
                from_minutes: step.clock_minutes,
                at_mm: pair(step.at),
                attended: step.attended,
                mass_kg: separation.map(|separation| separation.piece.mass_kg),
                words: steps::words(plan, &step),
            }
        })
        .collect()
}
