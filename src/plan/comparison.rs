//! Compares all wires, machines and pass counts for one drawing; offsets and verifies the chosen one.

use super::candidate::{Candidate, WireAndMachine, evaluate};
use super::choice::compare;
use super::demand_group::DemandGroup;
use super::requirements::Requirements;
use super::selection::{Selection, sort};
use super::{DrawingSource, Error, Inspection, Plan};
use crate::job::{Purposes, Reading};
use crate::shop::Book;
use crate::toolpath::without_path;

/// A comparison for one drawing.
#[derive(Debug)]
pub struct Comparison {
    /// The drawing, not checked.
    pub inspection: Inspection,
    /// Name of the material.
    pub material: String,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Currency of every cost.
    pub currency: String,
    /// The requirements, by demand group.
    pub demand_groups: Vec<DemandGroup>,
    /// Every combination, thinnest wire first; the chosen one is marked.
    pub candidates: Vec<Candidate>,
    /// The chosen one, offset and verified; `None` where nothing meets the requirements.
    pub chosen: Option<Plan>,
}

/// Reads a drawing and evaluates every combination that is left open. All but the chosen one are evaluated from
/// perimeter, radii and widths alone.
pub fn compare_requirements(
    file: &str,
    bytes: &[u8],
    reading: &Reading,
    uses: &Purposes,
    book: &Book,
    requirements: &Requirements,
) -> Result<Comparison, Error> {
    let source = DrawingSource::new(file, bytes, reading, uses);
    let selection = Selection::read(source, book, requirements)?;
    let mut candidates = compare(&selection.input, &requirements.open);
    if let Some(passes) = requirements.demands.all.passes {
        candidates.retain(|candidate| candidate.passes == passes);
    }
    let (inspection, demand_groups) = (
        selection.inspection.clone(),
        selection.sorted.demand_groups.clone(),
    );
    let material = selection.input.material.to_owned();
    let weighed = selection.choose(requirements);
    let mut chosen = None;
    if weighed.first().is_some_and(|first| first.chosen) {
        let plan = selection.plan(weighed, requirements)?;
        for weighed in &plan.candidates {
            settle(&mut candidates, weighed);
        }
        chosen = plan.reaches_demand().then_some(plan);
    }
    let incomplete = without_path(&inspection.contours, &inspection.to_cut());
    let candidates = candidates
        .into_iter()
        .map(|candidate| candidate.without_part_totals(&incomplete))
        .collect();
    Ok(Comparison {
        inspection,
        material,
        thickness_mm: requirements.thickness_mm,
        currency: book.currency.clone(),
        demand_groups,
        candidates,
        chosen,
    })
}

/// Evaluates every combination that `requirements` leaves open, for a drawing that is planned; marks that of the plan as
/// chosen, and adds it where it is in no row.
pub(super) fn evaluate_alternatives(
    plan: &Plan,
    requirements: &Requirements,
    book: &Book,
) -> Result<Vec<Candidate>, Error> {
    let material = requirements.look_up(book)?;
    let (_, input) = sort(&plan.inspection, book, material, requirements)?;
    let candidates = compare(&input, &requirements.open);
    let setup = &plan.setup;
    let taken = WireAndMachine {
        wire_mm: setup.wire_mm,
        wire_kind: setup.wire_kind.clone().unwrap_or_else(|| book.wire.kind.clone()),
        machine: setup
            .machine
            .clone()
            .unwrap_or_else(|| book.default_machine.clone()),
    };
    let passes: Vec<usize> = plan.groups.iter().map(|group| group.passes().len()).collect();
    let incomplete = without_path(&plan.inspection.contours, &plan.inspection.to_cut());
    let mut candidates: Vec<Candidate> = candidates
        .into_iter()
        .map(|candidate| candidate.without_part_totals(&incomplete))
        .collect();
    let mut taken = evaluate(&input, &taken, &passes)
        .with_limits_of_paths(&plan.process.beyond_machine)
        .without_part_totals(&plan.toolpaths.incomplete);
    taken.chosen = true;
    settle(&mut candidates, &taken);
    Ok(candidates)
}

/// Marks the chosen combination and copies what its real paths miss; adds it where its demand groups take different
/// numbers of passes, so that it is in no row yet.
fn settle(candidates: &mut Vec<Candidate>, weighed: &Candidate) {
    let same = |candidate: &&mut Candidate| {
        candidate.wire_mm == weighed.wire_mm
            && candidate.wire_kind == weighed.wire_kind
            && candidate.machine == weighed.machine
            && candidate.passes_by_group == weighed.passes_by_group
    };
    match candidates.iter_mut().find(same) {
        Some(row) => {
            row.chosen = weighed.chosen;
            (row.possible, row.feasible) = (weighed.possible, weighed.feasible);
            (row.minutes, row.cost) = (weighed.minutes, weighed.cost);
            row.non_dominated &= weighed.possible;
            row.reasons.clone_from(&weighed.reasons);
        }
        None if weighed.chosen => candidates.push(weighed.clone()),
        None => {}
    }
}
