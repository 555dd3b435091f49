//! All wires, machines and pass counts side by side for one drawing; the chosen one offset and verified.

use super::candidate::{Candidate, Means, weigh};
use super::choice::{choose, compare};
use super::outline::Outline;
use super::wanted::{Wanted, plan_wanted};
use super::{Error, Inspection, Plan, read};
use crate::job::{Reading, Uses};
use crate::shop::Book;

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
    /// What is asked, by demand group.
    pub outlines: Vec<Outline>,
    /// Every combination, thinnest wire first; the chosen one is marked.
    pub candidates: Vec<Candidate>,
    /// The chosen one, offset and verified; `None` where nothing reaches what is asked.
    pub chosen: Option<Plan>,
}

/// Reads a drawing and weighs every combination that is left open. All but the chosen one are weighed from
/// perimeter, radii and widths alone.
pub fn compare_wanted(
    file: &str,
    bytes: &[u8],
    reading: &Reading,
    uses: &Uses,
    book: &Book,
    wanted: &Wanted,
) -> Result<Comparison, Error> {
    let material = wanted.look_up(book)?;
    let mut inspection = read(file, bytes, reading, uses, book)?;
    let sorted = inspection.sort_out(&wanted.demands, book)?;
    if sorted.outlines.is_empty() {
        let reasons = vec!["nothing is to be cut".to_owned()];
        return Err(Error::Impossible { reasons });
    }
    inspection.assumptions.extend(sorted.assumptions.iter().cloned());
    let question = wanted.question(&sorted, book, material);
    let mut candidates = compare(&question, &wanted.open);
    if let Some(passes) = wanted.demands.all.passes {
        candidates.retain(|candidate| candidate.passes == passes);
    }
    let taken = choose(&question, &wanted.open, wanted.prefer)
        .into_iter()
        .find(|taken| taken.chosen);
    let chosen = match taken {
        Some(taken) => {
            mark(&mut candidates, taken);
            Some(plan_wanted(file, bytes, reading, uses, book, wanted)?)
        }
        None => None,
    };
    Ok(Comparison {
        inspection,
        material: material.name.clone(),
        thickness_mm: wanted.thickness_mm,
        currency: book.currency.clone(),
        outlines: sorted.outlines,
        candidates,
        chosen,
    })
}

/// Every combination that `wanted` leaves open, for a drawing that is planned; the plan's own is marked as chosen,
/// and put in where it stands in no row.
pub(super) fn weigh_beside(plan: &Plan, wanted: &Wanted, book: &Book) -> Result<Vec<Candidate>, Error> {
    let material = wanted.look_up(book)?;
    let sorted = plan.inspection.sort_out(&wanted.demands, book)?;
    let question = wanted.question(&sorted, book, material);
    let mut candidates = compare(&question, &wanted.open);
    let ask = &plan.ask;
    let taken = Means {
        wire_mm: ask.wire_mm,
        wire_kind: ask.wire_kind.clone().unwrap_or_else(|| book.wire.kind.clone()),
        machine: ask
            .machine
            .clone()
            .unwrap_or_else(|| book.default_machine.clone()),
    };
    let passes: Vec<usize> = plan.groups.iter().map(|group| group.passes.len()).collect();
    let mut taken = weigh(&question, &taken, &passes);
    taken.chosen = true;
    mark(&mut candidates, taken);
    Ok(candidates)
}

/// Marks the chosen one; where its demand groups take different numbers of passes it stands in no row yet.
fn mark(candidates: &mut Vec<Candidate>, taken: Candidate) {
    let same = |candidate: &Candidate| {
        candidate.wire_mm == taken.wire_mm
            && candidate.wire_kind == taken.wire_kind
            && candidate.machine == taken.machine
            && candidate.passes_by_group == taken.passes_by_group
    };
    match candidates.iter_mut().find(|candidate| same(candidate)) {
        Some(candidate) => candidate.chosen = true,
        None => candidates.push(taken),
    }
}
