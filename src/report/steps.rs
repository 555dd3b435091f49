//! Starts and the order of cutting, in words and rows.

use super::pieces::{about_mass, caution, kind};
use crate::id::{ContourId, PassNo};
use crate::message::number::{counted, fixed, short};
use crate::plan::{OperationKind, Plan, TimedOperation};
use crate::process::{PieceKind, Start, StartOrigin};

/// The source of the place of a start.
pub(super) const fn origin(origin: StartOrigin) -> &'static str {
    match origin {
        StartOrigin::Ready => "ready hole",
        StartOrigin::ExistingOpening => "existing opening",
        StartOrigin::Drawn => "drawn",
        StartOrigin::Given => "given",
        StartOrigin::Center => "proposed in the centre",
        StartOrigin::BesideWall => "proposed beside the wall",
        StartOrigin::Roomiest => "proposed where there is most room",
        StartOrigin::BlankEdge => "from the edge of the blank",
    }
}

/// Writes where a hole would make the lead-in shorter; empty where none would.
pub(super) fn shorter(start: &Start) -> String {
    start.shorter.map_or_else(String::new, |shorter| {
        format!(
            "a hole at x {} y {} mm would save {} min of lead-in",
            short(shorter.at.x, 3),
            short(shorter.at.y, 3),
            fixed(shorter.minutes, 1)
        )
    })
}

/// Writes the hole of a start.
pub(super) fn hole(start: &Start) -> String {
    start
        .hole_mm
        .map_or_else(|| "none".to_owned(), |mm| format!("Ø {}", fixed(mm, 2)))
}

/// Writes a step in words.
pub(super) fn words(plan: &Plan, step: &TimedOperation) -> String {
    let separation = step.separation.and_then(|i| plan.process.separations.get(i));
    let piece = separation.map_or("piece", |separation| kind(separation.piece.kind));
    let on_tab = separation.is_some_and(|s| s.tab().is_some());
    let on_last_stretch = separation.is_some_and(|s| s.last_stretch().is_some());
    match step.kind {
        OperationKind::Travel => "on to the next start, the wire cut".into(),
        OperationKind::Thread => "thread".into(),
        OperationKind::LeadIn if !step.pass.is_rough() => "onto the path through the open kerf".into(),
        OperationKind::LeadIn => "lead in".into(),
        OperationKind::LeadOut => "past the closing point and back".into(),
        OperationKind::Coreless => "coreless: cut the slug away in rings".into(),
        OperationKind::Rough if on_tab => "rough, up to the tab".into(),
        OperationKind::Rough if on_last_stretch => "rough, up to the last stretch".into(),
        OperationKind::Rough => "rough".into(),
        OperationKind::Skim if on_tab && separation.is_some_and(|s| s.piece.kind == PieceKind::Part) => {
            format!("skim, pass {}, between the ends of the tab", step.pass)
        }
        OperationKind::Skim => format!("skim, pass {}", step.pass),
        OperationKind::SkimTab => format!("skim the tab stub, pass {}", step.pass),
        OperationKind::Adjust => format!("adjust for pass {}", step.pass),
        OperationKind::Stop => {
            let mass = separation.map_or_else(String::new, |s| format!(" ({})", about_mass(s)));
            let caution = match separation.map_or("", caution) {
                "" => String::new(),
                caution => format!("; {caution}"),
            };
            format!(
                "STOP, power off, operator present: secure the {piece}{mass} with clamp or shim, or magnet (magnetic steel \
                 only); hands out{caution}"
            )
        }
        OperationKind::CutOff if on_last_stretch => "doors closed: cut the last stretch".into(),
        OperationKind::CutOff => "doors closed: cut the tab".into(),
        OperationKind::Remove => format!("STOP, power off: remove the {piece}"),
    }
}

/// Returns the name of a kind of step, as programs read it.
pub(super) const fn name(kind: OperationKind) -> &'static str {
    match kind {
        OperationKind::Travel => "travel",
        OperationKind::Thread => "thread",
        OperationKind::LeadIn => "lead-in",
        OperationKind::Coreless => "coreless",
        OperationKind::Rough => "rough",
        OperationKind::Skim => "skim",
        OperationKind::LeadOut => "lead-out",
        OperationKind::Adjust => "adjust",
        OperationKind::Stop => "stop",
        OperationKind::CutOff => "cut-off",
        OperationKind::SkimTab => "skim-tab",
        OperationKind::Remove => "remove",
    }
}

/// A row of the order of cutting: a step with its way there, its leads, and the like steps of the contours that follow and
/// are cut alike.
#[derive(Debug)]
pub(super) struct OperationRow {
    /// Numbers of the first and the last step in it.
    pub(super) steps: (usize, usize),
    /// The contours, in order of cutting.
    pub(super) contours: Vec<ContourId>,
    /// When it begins, min.
    pub(super) clock_minutes: f64,
    /// How long all of it takes, min.
    pub(super) takes_minutes: f64,
    /// Path cut, mm.
    pub(super) length_mm: f64,
    /// What is done.
    pub(super) words: String,
    /// The operator is present.
    pub(super) attended: bool,
}

impl OperationRow {
    /// Writes the steps by number.
    pub(super) fn numbers(&self) -> String {
        let (first, last) = self.steps;
        if first == last {
            first.to_string()
        } else {
            format!("{first}–{last}")
        }
    }

    /// Writes the contours by number, shortened where they are many.
    pub(super) fn contour_words(&self) -> String {
        super::words::contour_words(&self.contours)
    }
}

/// Returns the order of cutting in rows.
pub(super) fn rows(plan: &Plan) -> Vec<OperationRow> {
    let mut steps = plan.steps().peekable();
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
        let mut made = rows_of(plan, &visit, number);
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
fn rows_of(plan: &Plan, visit: &[TimedOperation], number: usize) -> Vec<OperationRow> {
    let mut rows: Vec<OperationRow> = Vec::new();
    // Steps that wait for the one that they go with.
    let mut waiting: Vec<(usize, &TimedOperation)> = Vec::new();
    for (number, step) in (number..).zip(visit) {
        match step.kind {
            OperationKind::Travel | OperationKind::LeadIn => waiting.push((number, step)),
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
                let lead = lead.map_or_else(String::new, |(_, lead)| {
                    format!(", with a lead-in of {} mm", fixed(lead.length_mm, 2))
                });
                rows.push(OperationRow {
                    steps: (first.0, number),
                    contours: vec![step.contour],
                    clock_minutes: first.1.clock_minutes,
                    takes_minutes: led + step.takes_minutes(),
                    length_mm: step.length_mm,
                    words: format!("{}{lead}", words(plan, step)),
                    attended: step.attended,
                });
                waiting.clear();
            }
        }
    }
    rows
}

/// What a plan has of starts, threads and stops, in a few words.
pub(super) fn summary(plan: &Plan) -> String {
    let starts = &plan.process.starts.list;
    let by = |wanted: fn(StartOrigin) -> bool| starts.iter().filter(|start| wanted(start.origin)).count();
    let told = by(|origin| matches!(origin, StartOrigin::Drawn | StartOrigin::Given));
    let there = by(|origin| matches!(origin, StartOrigin::Ready | StartOrigin::ExistingOpening));
    let from_edge = by(|origin| origin == StartOrigin::BlankEdge);
    let of = |count: usize, words: &str| {
        if count == 0 {
            String::new()
        } else {
            format!("{count} {words}, ")
        }
    };
    let of_kind = |kind: OperationKind| plan.steps().filter(move |step| step.kind == kind);
    let travel_mm: f64 = of_kind(OperationKind::Travel).map(|step| step.length_mm).sum();
    format!(
        "{} ({}{told} drawn or given, {}{} proposed), {}, {}, {} mm from start to start",
        counted(starts.len(), "start"),
        of(there, "there already"),
        of(from_edge, "from the edge"),
        starts.len() - told - there - from_edge,
        counted(of_kind(OperationKind::Thread).count(), "thread"),
        counted(of_kind(OperationKind::Stop).count(), "stop"),
        short(travel_mm, 1)
    )
}
