//! All combinations side by side, and the one to take: the only place that chooses.

use super::candidate::{Candidate, WireAndMachine, evaluate};
use super::selection_input::SelectionInput;
use crate::job::Prefer;
use crate::shop::{Book, same_wire};

/// What may be chosen from; what is `None` is left open.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Constraints {
    /// Wire diameter, mm.
    pub wire_mm: Option<f64>,
    /// Wire kind.
    pub wire_kind: Option<String>,
    /// Machine.
    pub machine: Option<String>,
}

impl Constraints {
    /// Every wire on every machine of the book that is left open, thinnest wire first.
    pub fn setup(&self, book: &Book) -> Vec<WireAndMachine> {
        let mut setup = Vec::new();
        for wire in book.wires() {
            let size = self.wire_mm.is_none_or(|mm| same_wire(wire.size.diameter_mm, mm));
            let kind = self
                .wire_kind
                .as_deref()
                .is_none_or(|kind| kind == wire.kind.name);
            if !(size && kind) {
                continue;
            }
            let machines = book.machines.keys();
            for machine in machines.filter(|name| {
                self.machine
                    .as_ref()
                    .is_none_or(|requirement| requirement == *name)
            }) {
                setup.push(WireAndMachine {
                    wire_mm: wire.size.diameter_mm,
                    wire_kind: wire.kind.name.clone(),
                    machine: machine.clone(),
                });
            }
        }
        setup
    }
}

/// Every wire and machine with every number of passes, the same for all demand groups; the non-dominated ones
/// are marked.
pub fn compare(input: &SelectionInput<'_>, open: &Constraints) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    for setup in open.setup(input.book) {
        for passes in 1..=input.book.most_passes() {
            candidates.push(evaluate(input, &setup, &vec![passes; input.demand_groups.len()]));
        }
    }
    mark_non_dominated(&mut candidates);
    candidates
}

/// The fewest passes of every demand group that are expected to reach what is asked, with these means; where
/// nothing does, as many as there are.
pub fn fewest_passes(input: &SelectionInput<'_>, setup: &WireAndMachine) -> Candidate {
    let most = input.book.most_passes();
    let mut passes: Vec<usize> = input
        .demand_groups
        .iter()
        .map(|o| o.requirement.passes.unwrap_or(1))
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

/// One candidate for each wire and machine, with the fewest passes that reach what is asked, and with more where
/// finish or accuracy is preferred. The one to take is marked; where none reaches what is asked, none is, and the
/// nearest comes first.
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
            let of = |(n, o): (&usize, &super::DemandGroup)| o.requirement.passes.unwrap_or((*n).max(passes));
            let more: Vec<usize> = needed.iter().zip(&input.demand_groups).map(of).collect();
            if more != needed {
                candidates.push(evaluate(input, &setup, &more));
            }
        }
    }
    mark_non_dominated(&mut candidates);
    candidates.sort_by(|a, b| {
        b.feasible
            .cmp(&a.feasible)
            .then(b.possible.cmp(&a.possible))
            .then_with(|| a.shortfall.total_cmp(&b.shortfall))
            .then_with(|| {
                rank(a, prefer)
                    .partial_cmp(&rank(b, prefer))
                    .unwrap_or(std::cmp::Ordering::Equal)
            })
    });
    if let Some(first) = candidates.first_mut() {
        first.chosen = first.feasible;
    }
    candidates
}

/// Smaller is better.
fn rank(candidate: &Candidate, prefer: Prefer) -> [f64; 3] {
    let or_last = |value: Option<f64>| value.unwrap_or(f64::INFINITY);
    let minutes = or_last(candidate.minutes.map(|band| band.expected));
    let cost = or_last(candidate.cost.map(|band| band.expected));
    match prefer {
        Prefer::Time => [
            candidate.passes_by_group.iter().sum::<usize>() as f64,
            minutes,
            cost,
        ],
        Prefer::Cost => [cost, minutes, 0.0],
        Prefer::Finish => [or_last(candidate.ra_um.map(|band| band.expected)), minutes, cost],
        Prefer::Accuracy => [or_last(candidate.accuracy_um), minutes, cost],
    }
}

fn mark_non_dominated(candidates: &mut [Candidate]) {
    let scores: Vec<Option<[f64; 4]>> = candidates.iter().map(scores).collect();
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
        candidate.minutes?.expected,
        candidate.cost?.expected,
        candidate.ra_um?.expected,
        candidate.accuracy_um?,
    ])
}

#[cfg(test)]
mod tests;
