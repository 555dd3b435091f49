//! Evaluates the combinations that are left open, before any path is laid, and ranks them.

use std::cmp::Ordering;

use super::candidate::{Candidate, evaluate};
use super::demand_group::DemandGroup;
use super::selection_input::SelectionInput;
use super::wire_and_machine::{Constraints, WireAndMachine};
use crate::job::Prefer;
use crate::pass;

/// Evaluates every wire and machine with every number of passes, the same for all demand groups.
pub fn compare(input: &SelectionInput<'_>, open: &Constraints) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    for setup in open.setup(input.book) {
        for passes in 1..=input.book.most_passes() {
            candidates.push(evaluate(input, &setup, &vec![passes; input.demand_groups.len()]));
        }
    }
    candidates
}

/// Returns the fewest passes of every demand group that are expected to meet its requirement with this wire and
/// machine; where none does, as many as there are.
pub fn fewest_passes(input: &SelectionInput<'_>, setup: &WireAndMachine) -> Candidate {
    let most = input.book.most_passes();
    let mut passes: Vec<usize> = input
        .demand_groups
        .iter()
        .map(|group| {
            group
                .requirement
                .passes
                .unwrap_or_else(|| fewest_for_finish(input, setup, group))
        })
        .collect();
    loop {
        let candidate = evaluate(input, setup, &passes);
        let mut raised = false;
        for (n, outline) in passes.iter_mut().zip(&input.demand_groups) {
            // A prescribed number stays; another wall of the job may still gain from one pass more.
            if outline.requirement.passes.is_none()
                && *n < most
                && candidate.failing_groups.contains(&outline.group)
            {
                *n += 1;
                raised = true;
            }
        }
        if !raised {
            return candidate;
        }
    }
}

/// The fewest passes that leave the finish that is asked of a group: all where none do, and where the book has none for it.
fn fewest_for_finish(input: &SelectionInput<'_>, setup: &WireAndMachine, group: &DemandGroup) -> usize {
    let most = input.book.most_passes();
    let Some(asked_um) = group.requirement.ra_um else {
        return 1;
    };
    let leaves = |passes: &usize| {
        let schedule = pass::schedule(input.book, &input.request(setup, group, *passes));
        schedule.map_or(true, |schedule| {
            schedule
                .traces
                .last()
                .is_some_and(|last| last.ra.value.expected <= asked_um)
        })
    };
    (1..most).find(leaves).unwrap_or(most)
}

/// Evaluates one candidate for each wire and machine, with the fewest passes that meet the requirements, and with more
/// where finish or accuracy is preferred. Those that are expected to meet them come first, by what is preferred; then those that
/// miss least.
pub fn choose(input: &SelectionInput<'_>, open: &Constraints, prefer: Prefer) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    for setup in open.setup(input.book) {
        let fewest = fewest_passes(input, &setup);
        let needed = fewest.passes_by_group.clone();
        candidates.push(fewest);
        if matches!(prefer, Prefer::Time | Prefer::Cost) {
            continue;
        }
        let most = input.book.most_passes();
        let from = needed.iter().copied().min().unwrap_or(most) + 1;
        for passes in from..=most {
            let of = |(n, o): (&usize, &DemandGroup)| o.requirement.passes.unwrap_or((*n).max(passes));
            let more: Vec<usize> = needed.iter().zip(&input.demand_groups).map(of).collect();
            if more != needed {
                candidates.push(evaluate(input, &setup, &more));
            }
        }
    }
    candidates.sort_by(|a, b| {
        b.feasible
            .cmp(&a.feasible)
            .then(b.possible.cmp(&a.possible))
            .then_with(|| a.shortfall.total_cmp(&b.shortfall))
            .then_with(|| rank(a, prefer).total_cmp(&rank(b, prefer)))
    });
    candidates
}

/// What decides between candidates that meet the requirements, most important first: smaller is better. Estimated figures rank no
/// later than the computed ones of the same candidate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rank([f64; 3]);

impl Rank {
    pub(super) fn total_cmp(&self, other: &Self) -> Ordering {
        let pairs = self.0.iter().zip(&other.0);
        pairs
            .map(|(a, b)| a.total_cmp(b))
            .find(|order| order.is_ne())
            .unwrap_or(Ordering::Equal)
    }
}

/// Returns the rank of a candidate.
pub(super) fn rank(candidate: &Candidate, prefer: Prefer) -> Rank {
    let or_last = |value: Option<f64>| value.unwrap_or(f64::INFINITY);
    let minutes = or_last(candidate.totals.map(|totals| totals.order_minutes.expected));
    let cost = or_last(candidate.totals.map(|totals| totals.cost_order.expected));
    Rank(match prefer {
        Prefer::Time => [
            candidate.passes_by_group.iter().sum::<usize>() as f64,
            minutes,
            cost,
        ],
        Prefer::Cost => [cost, minutes, 0.0],
        Prefer::Finish => [or_last(candidate.ra_um.map(|band| band.expected)), minutes, cost],
        Prefer::Accuracy => [or_last(candidate.accuracy_um), minutes, cost],
    })
}

/// Marks those of the `counted` that no other of them beats by the figures that they have.
pub(super) fn mark_non_dominated(candidates: &mut [Candidate], counted: fn(&Candidate) -> bool) {
    let scores: Vec<Option<[f64; 4]>> = candidates
        .iter()
        .map(|candidate| counted(candidate).then(|| scores(candidate)).flatten())
        .collect();
    for (candidate, own) in candidates.iter_mut().zip(&scores) {
        candidate.non_dominated = own.is_some_and(|own| {
            !scores.iter().flatten().any(|other| {
                let pairs = || other.iter().zip(&own);
                pairs().all(|(a, b)| a <= b) && pairs().any(|(a, b)| a < b)
            })
        });
    }
}

fn scores(candidate: &Candidate) -> Option<[f64; 4]> {
    if !candidate.possible {
        return None;
    }
    Some([
        candidate.totals?.order_minutes.expected,
        candidate.totals?.cost_order.expected,
        candidate.ra_um?.expected,
        candidate.accuracy_um?,
    ])
}

#[cfg(test)]
mod tests;
