//! Chooses: computes candidates from their own paths, in the order of what they take at the least, until the best so far takes no
//! more than any other can. The only place that chooses.

use super::candidate::{Candidate, FigureBasis, evaluate, weigh};
use super::choice::{Rank, choose, mark_non_dominated, rank};
use super::computed::{Computed, JobContext, KnownPaths, compute};
use super::demand_group::{DemandGroup, DemandGroups};
use super::group_plan::GroupRequest;
use super::requirements::Requirements;
use super::selection_input::SelectionInput;
use super::{Error, Inspection, Shortfall};
use crate::job::Prefer;
use crate::pass;
use crate::tolerance::AS_NEAR_MM;
use crate::units::UM_PER_MM;

/// Most candidates whose own paths miss what was expected of them before the first of them is planned with its shortfall.
const MOST_TRIES: usize = 4;

/// Computes the candidates of one drawing.
pub(super) struct Weighing<'a> {
    inspection: &'a Inspection,
    sorted: &'a DemandGroups,
    input: &'a SelectionInput<'a>,
    requirements: &'a Requirements,
    context: JobContext,
    known: KnownPaths,
}

/// What is taken, and what it was chosen from.
pub(super) struct Choice {
    /// The one to plan; it is not feasible where nothing reaches what is asked.
    pub(super) taken: Candidate,
    /// Its paths.
    pub(super) computed: Computed,
    /// Those whose own paths miss what was expected of them, in the order in which they were computed.
    pub(super) missed: Vec<Candidate>,
    /// The others, computed or estimated, best first.
    pub(super) others: Vec<Candidate>,
}

impl Choice {
    /// What has been computed from its own paths.
    pub(super) fn computed(&self) -> impl Iterator<Item = &Candidate> {
        let all = [&self.taken].into_iter().chain(&self.missed).chain(&self.others);
        all.filter(|candidate| candidate.basis == FigureBasis::Computed)
    }
}

impl<'a> Weighing<'a> {
    pub(super) fn new(
        inspection: &'a Inspection,
        sorted: &'a DemandGroups,
        input: &'a SelectionInput<'a>,
        requirements: &'a Requirements,
    ) -> Self {
        Self {
            inspection,
            sorted,
            input,
            requirements,
            context: JobContext::of(requirements, sorted, input),
            known: KnownPaths::default(),
        }
    }

    /// Chooses among what is left open. Where nothing reaches what is asked the nearest is taken; an error where nothing can be
    /// planned at all.
    pub(super) fn choose(&mut self) -> Result<Choice, Error> {
        let prefer = self.requirements.prefer;
        let mut open = choose(self.input, &self.requirements.open, prefer);
        log::debug!("{} combinations compared", open.len());
        let mut best: Option<(Candidate, Computed)> = None;
        let (mut missed, mut first_missed) = (Vec::new(), None);
        let mut beaten: Vec<Candidate> = Vec::new();
        while let Some(next) = first_feasible(&open, prefer) {
            let is_settled = best
                .as_ref()
                .is_some_and(|(best, _)| is_first(best, &open[next], prefer));
            if is_settled || best.is_none() && missed.len() == MOST_TRIES {
                break;
            }
            let (candidate, computed) = self.compute(&open.remove(next))?;
            if !candidate.feasible {
                learn(&candidate, &computed, &mut open);
                if best.is_none() && first_feasible(&open, prefer).is_none() {
                    open.extend(self.with_one_pass_more(&candidate));
                }
                missed.push(candidate);
                first_missed.get_or_insert(computed);
            } else if let Some(held) = best.as_mut() {
                if is_first(&held.0, &candidate, prefer) {
                    beaten.push(candidate);
                } else {
                    beaten.push(std::mem::replace(held, (candidate, computed)).0);
                }
            } else {
                best = Some((candidate, computed));
            }
        }
        beaten.append(&mut open);
        let (taken, computed) = match (best, first_missed) {
            (Some(best), _) => best,
            (None, Some(computed)) => (missed.remove(0), computed),
            (None, None) => self.nearest(&mut beaten)?,
        };
        let mut choice = Choice {
            taken,
            computed,
            missed,
            others: beaten,
        };
        choice.taken.chosen = choice.taken.feasible;
        choice.others.sort_by(|a, b| {
            let by_rank = || rank(a, prefer).total_cmp(&rank(b, prefer));
            b.feasible.cmp(&a.feasible).then_with(by_rank)
        });
        Ok(choice)
    }

    /// Computes what beats all others in time, cost, finish or accuracy by its figures so far, until all such are computed.
    pub(super) fn compute_unbeaten(&mut self, candidates: &mut [Candidate]) -> Result<(), Error> {
        loop {
            mark_non_dominated(candidates, |_| true);
            // The fastest first: it settles most of the others.
            let unsettled = candidates
                .iter_mut()
                .filter(|candidate| candidate.non_dominated && candidate.basis == FigureBasis::Estimated)
                .min_by(|a, b| rank(a, Prefer::Time).total_cmp(&rank(b, Prefer::Time)));
            let Some(candidate) = unsettled else {
                return Ok(());
            };
            let chosen = candidate.chosen;
            *candidate = self.figures_of(candidate)?;
            candidate.chosen = chosen;
        }
    }

    /// Weighs a candidate by its own paths.
    pub(super) fn figures_of(&mut self, candidate: &Candidate) -> Result<Candidate, Error> {
        Ok(self.compute(candidate)?.0)
    }

    /// The nearest where nothing reaches what is asked: what the machine is too small for is computed too, and what a wire that is
    /// given does not follow, since paths and findings say more than a refusal.
    fn nearest(&mut self, candidates: &mut Vec<Candidate>) -> Result<(Candidate, Computed), Error> {
        let near = as_near(candidates);
        if near.is_empty() {
            let beyond = candidates
                .iter()
                .position(Candidate::is_only_beyond_machine)
                .or_else(|| candidates.iter().position(Candidate::is_beyond_machine))
                .or_else(|| {
                    self.requirements
                        .open
                        .wire_mm
                        .and(candidates.iter().position(Candidate::has_paths))
                });
            let Some(beyond) = beyond else {
                let reasons = candidates
                    .first()
                    .map_or_else(Vec::new, |first| first.reasons.clone());
                return Err(Error::Impossible { reasons });
            };
            return self.compute(&candidates.remove(beyond));
        }
        let mut best: Option<(usize, Candidate, Computed)> = None;
        for i in near {
            let is_settled =
                |(_, best, _): &(usize, Candidate, Computed)| is_first(best, &candidates[i], Prefer::Cost);
            if best.as_ref().is_some_and(is_settled) {
                break;
            }
            let (candidate, computed) = self.compute(&candidates[i])?;
            candidates[i] = candidate.clone();
            if best
                .as_ref()
                .is_none_or(|(_, best, _)| !is_first(best, &candidate, Prefer::Cost))
            {
                best = Some((i, candidate, computed));
            }
        }
        let (i, candidate, computed) = best.ok_or_else(Error::nothing_to_cut)?;
        candidates.remove(i);
        Ok((candidate, computed))
    }

    /// Computes a candidate from its own paths.
    fn compute(&mut self, candidate: &Candidate) -> Result<(Candidate, Computed), Error> {
        let setup = candidate.wire_and_machine();
        let Self { input, sorted, .. } = *self;
        let requested = |(group, passes): (&DemandGroup, &usize)| {
            let request = input.request(&setup, group, *passes);
            Ok(GroupRequest {
                schedule: pass::schedule(input.book, &request)?,
                request,
                contours: group.contours.clone(),
                rough_only: group.loose.clone(),
                requirement: group.requirement.clone(),
                size_mm: group.size_mm,
            })
        };
        let groups = input.demand_groups.iter().zip(&candidate.passes_by_group);
        let mut requests = groups.map(requested).collect::<Result<Vec<_>, Error>>()?;
        // An open contour has no side, and so no size to be held: it stands with the first group, and is refused there.
        if let Some(first) = requests.first_mut() {
            first.contours.extend(&sorted.open);
            first.contours.sort_unstable();
        }
        let computed = compute(
            self.inspection,
            input.book,
            requests,
            &self.context,
            &mut self.known,
        )?;
        let weighed = weigh(input, &setup, &candidate.passes_by_group, Some(computed.facts()));
        Ok((weighed, computed))
    }

    /// Returns the same wire and machine with one pass more where their number is open, if that is expected to meet the
    /// requirements: the last offset is smaller then.
    fn with_one_pass_more(&self, short: &Candidate) -> Option<Candidate> {
        let most = self.input.book.most_passes();
        let groups = short.passes_by_group.iter().zip(&self.input.demand_groups);
        let passes: Vec<usize> = groups
            .map(|(passes, group)| passes + usize::from(group.requirement.passes.is_none() && *passes < most))
            .collect();
        let more = || evaluate(self.input, &short.wire_and_machine(), &passes);
        (passes != short.passes_by_group)
            .then(more)
            .filter(|more| more.feasible)
    }

    /// What a plan is made with.
    pub(super) fn into_context(self) -> JobContext {
        self.context
    }
}

/// Learns from one whose own paths miss: what reaches no farther into a corner, with a wire as thick and no more passes, is not
/// tried.
fn learn(short: &Candidate, computed: &Computed, open: &mut [Candidate]) {
    let facts = computed.facts();
    if !(facts.toolpaths.refusals.is_empty() && facts.process.beyond_machine.is_empty()) {
        return;
    }
    let no_nearer = |other: &&mut Candidate| {
        other.feasible && other.wire_mm >= short.wire_mm && other.passes <= short.passes
    };
    for other in open.iter_mut().filter(no_nearer) {
        let than = short.wire_and_machine().message();
        other.feasible = false;
        other.reasons.push(Shortfall::NoNearer { than });
    }
}

/// The feasible one that is first by its figures so far.
fn first_feasible(candidates: &[Candidate], prefer: Prefer) -> Option<usize> {
    let feasible = candidates
        .iter()
        .enumerate()
        .filter(|(_, candidate)| candidate.feasible);
    let ranked = feasible.map(|(i, candidate)| (i, rank(candidate, prefer)));
    ranked
        .min_by(|(_, a), (_, b)| Rank::total_cmp(a, b))
        .map(|(i, _)| i)
}

/// Whether a candidate ranks no later than another.
fn is_first(candidate: &Candidate, other: &Candidate, prefer: Prefer) -> bool {
    rank(candidate, prefer).total_cmp(&rank(other, prefer)).is_le()
}

/// The possible candidates that come as near to what is asked as the nearest, cheapest first.
fn as_near(candidates: &[Candidate]) -> Vec<usize> {
    let possible = || {
        candidates
            .iter()
            .enumerate()
            .filter(|(_, candidate)| candidate.possible)
    };
    let nearest = possible().min_by(|(_, a), (_, b)| a.shortfall.total_cmp(&b.shortfall));
    let Some((_, nearest)) = nearest else {
        return Vec::new();
    };
    let error_um = |candidate: &Candidate| candidate.accuracy_um.unwrap_or(f64::INFINITY);
    let is_as_near = |candidate: &Candidate| {
        candidate.finish_excess() <= nearest.finish_excess()
            && error_um(candidate) <= error_um(nearest) + AS_NEAR_MM * UM_PER_MM
    };
    let mut near: Vec<usize> = possible()
        .filter(|(_, candidate)| is_as_near(candidate))
        .map(|(i, _)| i)
        .collect();
    near.sort_by(|&a, &b| rank(&candidates[a], Prefer::Cost).total_cmp(&rank(&candidates[b], Prefer::Cost)));
    near
}
