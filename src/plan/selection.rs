//! Selects wire, machine and passes for a drawing: groups its contours by demand, chooses, and checks the choice against
//! the real paths.

use super::candidate::{Candidate, SelectionInput, WireAndMachine, evaluate};
use super::choice::choose;
use super::demand_group::DemandGroups;
use super::requirements::Requirements;
use super::{Error, GroupPlan, Inspection, JobContext, Plan, RunOptions, assemble, read};
use crate::job::{Purposes, Reading};
use crate::pass::{self, PassRequest};
use crate::path::Unreached;
use crate::shop::Book;
use crate::units::UM_PER_MM;

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
    requirements: &Requirements,
) -> Result<(DemandGroups, SelectionInput<'b>), Error> {
    let material = requirements.look_up(book)?;
    let mut sorted = inspection.group_by_demand(&requirements.demands, book)?;
    for outline in &mut sorted.demand_groups {
        outline.loose = inspection.loose_parts(&outline.contours, &requirements.holding);
        let loose = outline.loose.iter().map(|id| &inspection.contours.list[id - 1]);
        outline.loose_perimeter_mm = loose.map(|contour| contour.perimeter_mm).sum();
    }
    let input = requirements.input(&sorted, book, material);
    Ok((sorted, input))
}

impl<'b> Selection<'b> {
    pub(super) fn read(
        file: &str,
        bytes: &[u8],
        reading: &Reading,
        uses: &Purposes,
        book: &'b Book,
        requirements: &Requirements,
    ) -> Result<Self, Error> {
        // The requirements are looked up first: a wrong word should not wait for a large drawing.
        requirements.look_up(book)?;
        let mut inspection = read(file, bytes, reading, uses, book)?;
        let (sorted, input) = sort(&inspection, book, requirements)?;
        if sorted.demand_groups.is_empty() {
            let reasons = vec!["nothing is to be cut".to_owned()];
            return Err(Error::Impossible { reasons });
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
        loop {
            let taken = candidates.first().filter(|first| first.possible);
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
            if plan.paths.refusals.is_empty() {
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
    let why = format!("no nearer than {}, whose real path misses", means_in_words(short));
    candidate.short_of(vec![why])
}

/// Returns the same wire and machine with one pass more where their number is open, if that is expected to meet the
/// requirements: the last offset is smaller then.
fn with_one_pass_more(input: &SelectionInput<'_>, short: &Candidate) -> Option<Candidate> {
    let most = input.book.most_passes();
    let passes: Vec<usize> = short
        .passes_by_group
        .iter()
        .zip(&input.demand_groups)
        .map(|(passes, outline)| passes + usize::from(outline.asked.passes.is_none() && *passes < most))
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
    let part = |outline: &super::DemandGroup, passes: usize| {
        let request = PassRequest {
            material: input.material.to_owned(),
            thickness_mm: requirements.thickness_mm,
            wire_mm: taken.wire_mm,
            wire_kind: Some(taken.wire_kind.clone()),
            passes,
            aim_mm: outline.asked.aim_mm,
            nozzles: requirements.nozzles,
            machine: Some(taken.machine.clone()),
        };
        Ok::<GroupPlan, Error>(GroupPlan {
            schedule: pass::schedule(book, &request)?,
            request,
            contours: outline.contours.clone(),
            asked: outline.asked.clone(),
            size_mm: outline.size_mm,
        })
    };
    let parts: Result<Vec<GroupPlan>, Error> = sorted
        .demand_groups
        .iter()
        .zip(&taken.passes_by_group)
        .map(|(outline, passes)| part(outline, *passes))
        .collect();
    let job = JobContext {
        work: sorted.work.clone(),
        order: requirements.order,
        pickup_mm: input.pickup_mm,
        offset_basis: requirements.offset_basis,
        terms: RunOptions {
            cancel: requirements.cancel.clone(),
            holding: requirements.holding.clone(),
            running: requirements.running.clone(),
        },
    };
    let mut parts = parts?.into_iter();
    let first = parts.next().ok_or_else(|| Error::Impossible {
        reasons: vec!["nothing is to be cut".to_owned()],
    })?;
    assemble(inspection, book, first, parts.collect(), job, Vec::new())
}

/// Lists which requirements the real paths miss; each in words.
fn missed(plan: &Plan) -> Vec<String> {
    let mut missed = Vec::new();
    // No other wire tells which side stays.
    let refusals = &plan.paths.refusals;
    if let Some(refusal) = refusals.iter().find(|refusal| !refusal.side_unclear) {
        missed.push(format!(
            "no path could be verified for pass {} of contour {} at ({:.3}, {:.3}): {}",
            refusal.pass, refusal.contour, refusal.at.x, refusal.at.y, refusal.reason
        ));
    }
    let beyond = |place: &&Unreached| place.tolerance_mm.is_some_and(|mm| place.deviation_mm > mm);
    let places = plan.paths.unreached.iter().filter(beyond);
    if let Some(worst) = places.max_by(|a, b| a.deviation_mm.total_cmp(&b.deviation_mm)) {
        missed.push(format!(
            "its real path leaves the wall {:.1} µm off the drawing at ({:.3}, {:.3}), ±{:.1} µm a side is asked",
            worst.deviation_mm * UM_PER_MM,
            worst.at.x,
            worst.at.y,
            worst.tolerance_mm.unwrap_or_default() * UM_PER_MM
        ));
    }
    missed
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
        said.extend(explain_choice(&taken));
        let tried = dropped.iter().map(|candidate| {
            format!(
                "tried before: {}; {}",
                means_in_words(candidate),
                candidate.reasons.join("; ")
            )
        });
        said.extend(tried);
        let fewer = with_fewer_passes(input, &taken);
        plan.candidates.push(taken);
        plan.candidates.extend(dropped);
        plan.candidates.extend(others);
        plan.candidates.extend(fewer);
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
        .map(|(passes, outline)| (*passes, outline.asked.passes.is_none()))
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
    let means = means_in_words(taken);
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

fn means_in_words(candidate: &Candidate) -> String {
    format!(
        "{} wire of {} mm on machine {}",
        candidate.wire_kind, candidate.wire_mm, candidate.machine
    )
}
