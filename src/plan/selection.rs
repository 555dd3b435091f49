//! Selects wire, machine and passes for a drawing: groups its contours by demand, chooses, and checks the choice against
//! the real paths.

use super::assemble::{JobContext, assemble};
use super::auxiliary_work::blank_mm3;
use super::candidate::{Candidate, WireAndMachine, evaluate};
use super::choice::choose;
use super::demand_group::{DemandGroup, DemandGroups};
use super::group_plan::GroupRequest;
use super::requirements::Requirements;
use super::selection_input::SelectionInput;
use super::{DrawingSource, Error, Inspection, Plan, Setup, Shortfall, read, shortfalls_in_words};
use crate::id::ContourId;
use crate::job::{Purposes, Reading};
use crate::pass;
use crate::process::{RawBlank, mass_on_table_kg};
use crate::shop::{Book, Material};
use crate::toolpath::{Incomplete, IncompleteReason, Unreached, without_path};

/// Most candidates whose paths are computed before the one that was expected to be best is planned with its shortfall.
const MOST_TRIES: usize = 4;

/// A drawing whose contours are grouped by requirement.
pub(super) struct Selection<'b> {
    pub(super) inspection: Inspection,
    pub(super) sorted: DemandGroups,
    pub(super) input: SelectionInput<'b>,
}

/// Groups the contours of a drawing by demand and makes the input of the choice.
pub(super) fn sort<'b>(
    inspection: &Inspection,
    book: &'b Book,
    material: &'b Material,
    requirements: &Requirements,
) -> Result<(DemandGroups, SelectionInput<'b>), Error> {
    let mut sorted = inspection.group_by_demand(&requirements.demands, book)?;
    for outline in &mut sorted.demand_groups {
        outline.loose = inspection.loose_parts(&outline.contours, &requirements.holding);
        let loose = outline.loose.iter().map(|&id| &inspection.contours[id]);
        outline.loose_perimeter_mm = loose.map(|contour| contour.perimeter_mm).sum();
    }
    let mut input = input(requirements, &sorted, book, material);
    let blank = RawBlank::new(&inspection.contours, &requirements.holding, &book.rules.holding);
    let mass_kg = mass_on_table_kg(
        material,
        requirements.thickness_mm,
        blank.as_ref(),
        sorted.extent_mm,
    );
    input.blank.mass_kg = Some(mass_kg);
    input.work.blank_mm3 = blank.map(|blank| blank_mm3(&blank, requirements.thickness_mm));
    Ok((sorted, input))
}

/// Gathers the input of the choice from the groups of a drawing and what is required of it.
fn input<'b>(
    requirements: &Requirements,
    sorted: &DemandGroups,
    book: &'b Book,
    material: &'b Material,
) -> SelectionInput<'b> {
    let Requirements {
        thickness_mm,
        nozzles,
        order,
        ..
    } = *requirements;
    let mut input = SelectionInput::new(
        sorted,
        book,
        material,
        thickness_mm,
        nozzles,
        order.of(sorted.parts.pieces()),
    );
    input.pickup_mm = requirements.pickup_mm.unwrap_or(input.pickup_mm);
    input.blank.tapered = requirements.tapered;
    input.offset_basis = requirements.offset_basis;
    input.room_swing_k = requirements.job.room_swing_k;
    input
}

impl<'b> Selection<'b> {
    pub(super) fn read(
        source: DrawingSource<'_>,
        book: &'b Book,
        requirements: &Requirements,
    ) -> Result<Self, Error> {
        // The requirements are looked up first: a wrong word should not wait for a large drawing.
        let material = requirements.look_up(book)?;
        let mut inspection = read(source, book)?;
        let (sorted, input) = sort(&inspection, book, material, requirements)?;
        if sorted.demand_groups.is_empty() {
            return Err(Error::nothing_to_cut());
        }
        inspection.assumptions.extend(sorted.assumptions.iter().cloned());
        Ok(Self {
            inspection,
            sorted,
            input,
        })
    }

    /// Evaluates one candidate for each wire and machine that is left open, the one to take first.
    pub(super) fn choose(&self, requirements: &Requirements) -> Vec<Candidate> {
        let candidates = choose(&self.input, &requirements.open, requirements.prefer);
        log::debug!("{} combinations weighed", candidates.len());
        candidates
    }

    /// Plans the first candidate whose real paths meet the expectation; where none of those that are tried does, or none was
    /// expected to meet the requirements, the nearest, with its shortfall.
    pub(super) fn plan(
        self,
        mut candidates: Vec<Candidate>,
        requirements: &Requirements,
    ) -> Result<Plan, Error> {
        let Self {
            mut inspection,
            sorted,
            input,
        } = self;
        let mut dropped: Vec<Candidate> = Vec::new();
        // What the machine is too small for is planned too: the paths and the findings say more than a refusal.
        if !candidates.first().is_some_and(|first| first.possible) {
            let nearest = candidates.iter().position(Candidate::is_only_beyond_machine);
            let nearest = nearest.or_else(|| candidates.iter().position(Candidate::is_beyond_machine));
            if let Some(nearest) = nearest {
                candidates[..=nearest].rotate_right(1);
            }
        }
        loop {
            let taken = candidates.first();
            let taken = taken.filter(|first| first.possible || first.is_beyond_machine());
            let taken = taken.ok_or_else(|| Error::Impossible {
                reasons: candidates
                    .first()
                    .map_or_else(Vec::new, |first| first.reasons.clone()),
            })?;
            let plan = plan_candidate(inspection, &sorted, &input, requirements, taken)?;
            let missed = if taken.feasible { missed(&plan) } else { Vec::new() };
            if missed.is_empty() {
                return Ok(finish(plan, candidates, dropped, &input));
            }
            let short = candidates.remove(0).short_of(missed);
            if plan.toolpaths.refusals.is_empty() && plan.process.beyond_machine.is_empty() {
                candidates = candidates
                    .into_iter()
                    .map(|other| no_nearer(other, &short))
                    .collect();
            }
            let mut next = candidates.iter().position(|candidate| candidate.feasible);
            if next.is_none()
                && let Some(more) = with_one_pass_more(&input, &short)
            {
                next = Some(candidates.len());
                candidates.push(more);
            }
            dropped.push(short);
            if let Some(next) = next.filter(|_| dropped.len() < MOST_TRIES) {
                let mut next = candidates.remove(next);
                next.chosen = true;
                candidates.insert(0, next);
            } else {
                candidates.insert(0, dropped.remove(0));
                if dropped.is_empty() {
                    return Ok(finish(plan, candidates, dropped, &input));
                }
            }
            inspection = plan.inspection;
        }
    }
}

/// Whether a candidate reaches no farther into a corner than one whose real paths fall short: with a wire as thick and no
/// more passes.
fn no_nearer(candidate: Candidate, short: &Candidate) -> Candidate {
    let no_nearer = candidate.wire_mm >= short.wire_mm && candidate.passes <= short.passes;
    if !(candidate.feasible && no_nearer) {
        return candidate;
    }
    let than = wire_and_machine_of(short).to_string();
    candidate.short_of(vec![Shortfall::NoNearer { than }])
}

/// Returns the same wire and machine with one pass more where their number is open, if that is expected to meet the
/// requirements: the last offset is smaller then.
fn with_one_pass_more(input: &SelectionInput<'_>, short: &Candidate) -> Option<Candidate> {
    let most = input.book.most_passes();
    let passes: Vec<usize> = short
        .passes_by_group
        .iter()
        .zip(&input.demand_groups)
        .map(|(passes, outline)| passes + usize::from(outline.requirement.passes.is_none() && *passes < most))
        .collect();
    let more = || evaluate(input, &wire_and_machine_of(short), &passes);
    (passes != short.passes_by_group)
        .then(more)
        .filter(|more| more.feasible)
}

fn wire_and_machine_of(candidate: &Candidate) -> WireAndMachine {
    WireAndMachine {
        wire_mm: candidate.wire_mm,
        wire_kind: candidate.wire_kind.clone(),
        machine: candidate.machine.clone(),
    }
}

/// Offsets, checks and estimates a candidate.
fn plan_candidate(
    inspection: Inspection,
    sorted: &DemandGroups,
    input: &SelectionInput<'_>,
    requirements: &Requirements,
    taken: &Candidate,
) -> Result<Plan, Error> {
    let book = input.book;
    let setup = Setup {
        material: input.material.to_owned(),
        thickness_mm: requirements.thickness_mm,
        wire_mm: taken.wire_mm,
        wire_kind: Some(taken.wire_kind.clone()),
        machine: Some(taken.machine.clone()),
        nozzles: requirements.nozzles,
    };
    let requested = |(group, passes): (&DemandGroup, &usize)| {
        let request = setup.request(*passes, group.requirement.aim_mm);
        Ok(GroupRequest {
            schedule: pass::schedule(book, &request)?,
            request,
            contours: group.contours.clone(),
            rough_only: group.loose.clone(),
            requirement: group.requirement.clone(),
            size_mm: group.size_mm,
        })
    };
    let groups = sorted.demand_groups.iter().zip(&taken.passes_by_group);
    let mut requests = groups.map(requested).collect::<Result<Vec<_>, Error>>()?;
    // An open contour has no side, and so no size to be held: it stands with the first group, and is refused there.
    if let Some(first) = requests.first_mut() {
        first.contours.extend(&sorted.open);
        first.contours.sort_unstable();
    }
    let context = JobContext {
        job: requirements.job.clone(),
        work: sorted.work.clone(),
        order: input.order,
        parts: sorted.parts.clone(),
        pickup_mm: input.pickup_mm,
        offset_basis: requirements.offset_basis,
        holding: requirements.holding.clone(),
        running: requirements.running.clone(),
        cancel: requirements.cancel.clone(),
    };
    assemble(inspection, book, setup, requests, context)
}

/// Returns what the real paths miss of what is called for.
fn missed(plan: &Plan) -> Vec<Shortfall> {
    // No other wire tells which side stays, or closes a contour.
    let hangs_on_wire = |contour: ContourId| {
        plan.toolpaths
            .incomplete(contour)
            .is_some_and(Incomplete::hangs_on_wire)
    };
    let mut refusals = plan.toolpaths.refusals.iter();
    let refused = refusals.find(|refusal| hangs_on_wire(refusal.contour));
    let refused = refused.map(|refusal| Shortfall::PathRefused {
        pass: refusal.pass,
        contour: refusal.contour,
        at: refusal.at,
        reason: refusal.reason,
    });
    let incomplete = plan.toolpaths.incomplete.iter();
    let without_room: Vec<Incomplete> = incomplete
        .filter(|incomplete| {
            incomplete.hangs_on_wire() && !matches!(incomplete.reason, IncompleteReason::PathRefused { .. })
        })
        .copied()
        .collect();
    let too_large = plan.process.beyond_machine.iter().cloned();
    let beyond = |place: &&Unreached| place.tolerance_mm.is_some_and(|mm| place.deviation_mm > mm);
    let places = plan.toolpaths.unreached.iter().filter(beyond);
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

/// Returns the plan with all candidates: the one taken, those whose paths failed, the others, and the same wire and
/// machine with fewer passes.
fn finish(
    mut plan: Plan,
    candidates: Vec<Candidate>,
    dropped: Vec<Candidate>,
    input: &SelectionInput<'_>,
) -> Plan {
    let said = &mut plan.inspection.assumptions;
    let mut others = candidates.into_iter();
    if let Some(taken) = others.next() {
        let taken = taken.with_limits_of_paths(&plan.process.beyond_machine);
        said.extend(explain_choice(&taken));
        let tried = dropped.iter().map(|candidate| {
            format!(
                "tried before: {}; {}",
                wire_and_machine_of(candidate),
                shortfalls_in_words(&candidate.reasons)
            )
        });
        said.extend(tried);
        let fewer = with_fewer_passes(input, &taken);
        let incomplete = without_path(&plan.inspection.contours, &plan.inspection.to_cut());
        let beside = dropped.into_iter().chain(others).chain(fewer);
        let beside = beside.map(|other| other.without_part_totals(&incomplete));
        plan.candidates
            .push(taken.without_part_totals(&plan.toolpaths.incomplete));
        plan.candidates.extend(beside);
    }
    plan
}

/// Evaluates the same wire and machine with fewer passes, where their number is open: why not those.
fn with_fewer_passes(input: &SelectionInput<'_>, taken: &Candidate) -> Vec<Candidate> {
    let means = wire_and_machine_of(taken);
    let open: Vec<(usize, bool)> = taken
        .passes_by_group
        .iter()
        .zip(&input.demand_groups)
        .map(|(passes, outline)| (*passes, outline.requirement.passes.is_none()))
        .collect();
    let most = open.iter().filter(|(_, open)| *open).map(|(passes, _)| *passes);
    (1..most.max().unwrap_or(1))
        .map(|n| {
            let passes = open
                .iter()
                .map(|(passes, open)| if *open { n.min(*passes) } else { *passes });
            evaluate(input, &means, &passes.collect::<Vec<_>>())
        })
        .collect()
}

/// Explains the choice of a candidate at the top of every output.
fn explain_choice(taken: &Candidate) -> Vec<String> {
    let means = wire_and_machine_of(taken);
    if taken.feasible {
        let passes = match taken.passes_by_group[..] {
            [1] => "1 pass".to_owned(),
            [passes] => format!("{passes} passes"),
            ref several => {
                let several: Vec<String> = several.iter().map(usize::to_string).collect();
                format!("{} passes, by demand group", several.join(" and "))
            }
        };
        return vec![format!("chosen: {means}, {passes}")];
    }
    let mut said = vec![format!(
        "nothing in the book reaches what is asked; planned is the nearest, {means}"
    )];
    said.extend(
        taken
            .reasons
            .iter()
            .map(|reason| format!("not reached: {reason}")),
    );
    said
}

/// Reads a drawing, chooses wire, machine and passes, and plans every contour to be cut. Where nothing in the book
/// reaches what is asked the nearest is planned, and the assumptions say what is missing. A choice whose real paths do
/// not keep what was expected of them gives way to the next.
pub fn plan_requirements(
    file: &str,
    bytes: &[u8],
    reading: &Reading,
    uses: &Purposes,
    book: &Book,
    requirements: &Requirements,
) -> Result<Plan, Error> {
    let source = DrawingSource::new(file, bytes, reading, uses);
    let selection = Selection::read(source, book, requirements)?;
    let candidates = selection.choose(requirements);
    selection.plan(candidates, requirements)
}
