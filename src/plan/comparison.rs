//! Compares all wires, machines and numbers of passes for one drawing.

use super::candidate::{Candidate, weigh};
use super::choice::{compare, mark_non_dominated};
use super::demand_group::DemandGroup;
use super::requirements::Requirements;
use super::selection::{Selection, sort};
use super::weighing::{Choice, Weighing};
use super::wire_and_machine::WireAndMachine;
use super::{DrawingSource, Error, Inspection, Plan};
use crate::shop::Book;
use crate::toolpath::without_path;

/// A comparison for one drawing.
#[derive(Debug)]
#[non_exhaustive]
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
    /// What comes nearest to them where nothing meets them, as a plan takes it; `None` where nothing can be planned.
    pub nearest: Option<Candidate>,
}

/// Weighs every combination that the requirements leave open.
pub(super) fn compare_requirements(
    source: DrawingSource<'_>,
    book: &Book,
    requirements: &Requirements,
) -> Result<Comparison, Error> {
    let selection = Selection::read(source, book, requirements)?;
    let mut candidates = compare(&selection.input, &requirements.open);
    if let Some(passes) = requirements.demands.all.passes {
        candidates.retain(|candidate| candidate.passes == passes);
    }
    let mut weighing = Weighing::new(
        &selection.inspection,
        &selection.sorted,
        &selection.input,
        requirements,
    );
    let choice = match weighing.choose() {
        Err(Error::Impossible { .. }) => None,
        choice => Some(choice?),
    };
    for computed in choice.iter().flat_map(Choice::computed) {
        settle(&mut candidates, computed);
    }
    let mut candidates = without_part_totals(candidates, &selection.inspection);
    weighing.compute_unbeaten(&mut candidates)?;
    let context = weighing.into_context();
    let (inspection, demand_groups) = (
        selection.inspection.clone(),
        selection.sorted.demand_groups.clone(),
    );
    let material = selection.input.material.to_owned();
    let taken = choice.map(|choice| selection.finish(choice, context));
    let (chosen, nearest) = match taken {
        Some(plan) if plan.reaches_demand() => (Some(plan), None),
        Some(plan) => (None, plan.candidates.into_iter().next()),
        None => (None, None),
    };
    Ok(Comparison {
        inspection,
        material,
        thickness_mm: requirements.thickness_mm,
        currency: book.currency.clone(),
        demand_groups,
        candidates,
        chosen,
        nearest,
    })
}

/// Most wire-centre loops, and vertices of them, up to which what else could be chosen is computed in full beside a plan.
const MOST_LOOPS: usize = 60;
const MOST_VERTICES: usize = 400;

/// Evaluates every combination that `requirements` leaves open, for a drawing that is planned; marks that of the plan as
/// chosen, and adds it where it is in no row. What is not beaten is computed in full where that does not take long.
pub(super) fn evaluate_alternatives(
    plan: &Plan,
    requirements: &Requirements,
    book: &Book,
) -> Result<Vec<Candidate>, Error> {
    let material = requirements.look_up(book)?;
    let (sorted, input) = sort(&plan.inspection, book, material, requirements)?;
    let mut candidates = compare(&input, &requirements.open);
    let taken = setup_of(plan);
    let passes: Vec<usize> = plan.groups.iter().map(|group| group.request.passes).collect();
    let mut taken = weigh(&input, &taken, &passes, Some(plan.cut_facts()));
    taken.chosen = true;
    settle(&mut candidates, &taken);
    let mut candidates = without_part_totals(candidates, &plan.inspection);
    let vertices = plan
        .toolpaths
        .loops
        .iter()
        .map(|wire| wire.polyline.vertices.len());
    if plan.toolpaths.loops.len() <= MOST_LOOPS && vertices.sum::<usize>() <= MOST_VERTICES {
        Weighing::new(&plan.inspection, &sorted, &input, requirements).compute_unbeaten(&mut candidates)?;
    } else {
        mark_non_dominated(&mut candidates, |_| true);
    }
    Ok(candidates)
}

/// Candidates without time and cost where something that is to be cut has no path, whatever the wire.
fn without_part_totals(candidates: Vec<Candidate>, inspection: &Inspection) -> Vec<Candidate> {
    let incomplete = without_path(&inspection.contours, &inspection.to_cut());
    let each = candidates.into_iter();
    each.map(|candidate| candidate.without_part_totals(&incomplete))
        .collect()
}

/// Wire and machine of a plan.
pub(super) fn setup_of(plan: &Plan) -> WireAndMachine {
    let (setup, book) = (&plan.setup, &plan.book);
    WireAndMachine {
        wire_mm: setup.wire_mm,
        wire_kind: setup.wire_kind.clone().unwrap_or_else(|| book.wire.kind.clone()),
        machine: setup
            .machine
            .clone()
            .unwrap_or_else(|| book.default_machine.clone()),
    }
}

/// Puts what has been computed in the place of its estimate; the chosen one is added where its demand groups take different
/// numbers of passes, so that it is in no row yet.
fn settle(candidates: &mut Vec<Candidate>, computed: &Candidate) {
    let same = |candidate: &&mut Candidate| {
        candidate.wire_and_machine() == computed.wire_and_machine()
            && candidate.passes_by_group == computed.passes_by_group
    };
    match candidates.iter_mut().find(same) {
        Some(row) => row.clone_from(computed),
        None if computed.chosen => candidates.push(computed.clone()),
        None => {}
    }
}
