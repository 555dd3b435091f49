//! Gathers the order of cutting in rows: what a person reads of thousands of steps.

use super::{OperationKind, Plan, TimedOperation};
use crate::id::{ContourId, PassNo};

/// A row of the order of cutting: a step with its way there, its leads, and the like steps of the contours that follow and
/// are cut alike.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct OperationRow {
    /// Numbers of the first and the last step in it.
    pub steps: (usize, usize),
    /// The contours, in order of cutting.
    pub contours: Vec<ContourId>,
    /// When it begins, min.
    pub clock_minutes: f64,
    /// How long all of it takes, min.
    pub takes_minutes: f64,
    /// Path cut, mm.
    pub length_mm: f64,
    /// The step that names the row.
    pub step: TimedOperation,
    /// Length of its lead-in, mm; none where no time goes into one.
    pub lead_in_mm: Option<f64>,
    /// The operator is present.
    pub attended: bool,
}

impl Plan {
    /// Returns the order of cutting in rows.
    pub fn order_rows(&self) -> Vec<OperationRow> {
        order_rows(self.steps())
    }

    /// Returns the way from start to start, mm.
    pub fn travel_mm(&self) -> f64 {
        let travel = self.steps().filter(|step| step.kind == OperationKind::Travel);
        travel.map(|step| step.length_mm).sum()
    }
}

fn order_rows(steps: impl Iterator<Item = TimedOperation>) -> Vec<OperationRow> {
    let mut steps = steps.peekable();
    let mut visit: Vec<TimedOperation> = Vec::new();
    let mut rows: Vec<OperationRow> = Vec::new();
    // What the visit before did, and where its rows begin.
    let mut before: Option<(Vec<OperationKey>, usize)> = None;
    let mut number = 1;
    while let Some(step) = steps.next() {
        visit.push(step);
        if steps.peek().is_some_and(|next| is_same_visit(&step, next)) {
            continue;
        }
        let done: Vec<OperationKey> = visit.iter().filter_map(doing).collect();
        let mut made = rows_of(&visit, number);
        number += visit.len();
        match &before {
            Some((known, from)) if *known == done && rows.len() - from == made.len() => {
                for (row, like) in rows[*from..].iter_mut().zip(made) {
                    row.steps.1 = like.steps.1;
                    row.contours.extend(like.contours);
                    row.takes_minutes += like.takes_minutes;
                    row.length_mm += like.length_mm;
                }
            }
            _ => {
                before = Some((done, rows.len()));
                rows.append(&mut made);
            }
        }
        visit.clear();
    }
    rows
}

/// Whether a step and the next one are of one contour on end.
fn is_same_visit(step: &TimedOperation, next: &TimedOperation) -> bool {
    step.contour == next.contour && next.kind != OperationKind::Travel
}

/// What makes two steps alike: kind, pass, and the length to a micrometre.
type OperationKey = (OperationKind, PassNo, i64);

fn doing(step: &TimedOperation) -> Option<OperationKey> {
    const PER_MM: f64 = 1000.0;
    let measured = step.kind != OperationKind::Travel;
    measured.then(|| (step.kind, step.pass, (step.length_mm * PER_MM).round() as i64))
}

/// Returns the rows of one visit: travel goes with the threading after it, leads with their pass.
fn rows_of(visit: &[TimedOperation], number: usize) -> Vec<OperationRow> {
    let mut rows: Vec<OperationRow> = Vec::new();
    // Steps that wait for the one that they go with.
    let mut waiting: Vec<(usize, &TimedOperation)> = Vec::new();
    for (number, step) in (number..).zip(visit) {
        match step.kind {
            OperationKind::Travel | OperationKind::Return | OperationKind::LeadIn => {
                waiting.push((number, step));
            }
            OperationKind::LeadOut if !rows.is_empty() => {
                if let Some(last) = rows.last_mut() {
                    last.steps.1 = number;
                    last.takes_minutes += step.takes_minutes();
                }
            }
            _ => {
                let first = waiting.first().map_or((number, step), |first| *first);
                let led: f64 = waiting.iter().map(|(_, step)| step.takes_minutes()).sum();
                let lead = waiting
                    .iter()
                    .find(|(_, s)| s.kind == OperationKind::LeadIn && s.minutes > 0.0);
                rows.push(OperationRow {
                    steps: (first.0, number),
                    contours: vec![step.contour],
                    clock_minutes: first.1.clock_minutes,
                    takes_minutes: led + step.takes_minutes(),
                    length_mm: step.length_mm,
                    step: *step,
                    lead_in_mm: lead.map(|(_, lead)| lead.length_mm),
                    attended: step.attended,
                });
                waiting.clear();
            }
        }
    }
    rows
}
