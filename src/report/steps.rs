//! Starts and the order of cutting, in words and rows.

use super::pieces::{about_mass, caution, kind};
use super::words::place;
use crate::message::number::{counted, fixed};
use crate::message::{Message, message, mm};
use crate::plan::{OperationKind, OperationRow, Plan, TimedOperation};
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
        StartOrigin::Air => "in air",
    }
}

/// Writes where a hole would make the lead-in shorter; empty where none would.
pub(super) fn shorter(start: &Start) -> Message {
    start.shorter.map_or_else(Message::default, |shorter| {
        message!(
            "a hole at {} would save {} min of lead-in",
            place(shorter.at, 3),
            fixed(shorter.minutes, 1)
        )
    })
}

/// Writes a step in words.
pub(super) fn words(plan: &Plan, step: &TimedOperation) -> String {
    let separation = step.separation.and_then(|i| plan.process.separations.get(i));
    let piece = separation.map_or("piece", |separation| kind(separation.piece.kind));
    let on_tab = separation.is_some_and(|s| s.tab().is_some());
    let on_last_stretch = separation.is_some_and(|s| s.last_stretch().is_some());
    match step.kind {
        OperationKind::Travel => "on to the next start, the wire cut".into(),
        OperationKind::Return => "back through the open kerf, without cutting".into(),
        OperationKind::Thread => "thread the wire".into(),
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
        OperationKind::Skim if runs_back(plan, step) => {
            format!("skim, pass {}, back along the line", step.pass)
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

/// Whether a pass of an open cut runs back along the line.
fn runs_back(plan: &Plan, step: &TimedOperation) -> bool {
    let mut wires = plan.toolpaths.loops.iter();
    let wire = wires.find(|wire| (wire.contour, wire.pass) == (step.contour, step.pass));
    wire.and_then(|wire| wire.open.as_ref())
        .is_some_and(|cut| cut.runs_back)
}

/// Returns the name of a kind of step, as programs read it.
pub(super) const fn name(kind: OperationKind) -> &'static str {
    match kind {
        OperationKind::Travel => "travel",
        OperationKind::Return => "return",
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

/// Writes the step of a row in words, with its lead-in.
pub(super) fn row_words(plan: &Plan, row: &OperationRow) -> Message {
    let lead = row.lead_in_mm;
    let lead = lead.map(|length_mm| message!(", with a lead-in of {}", mm(length_mm).fixed(2)));
    message!("{}{}", words(plan, &row.step), lead)
}

/// Writes the first and the last number of the steps of a row.
pub(super) fn numbers(row: &OperationRow) -> String {
    let (first, last) = row.steps;
    if first == last {
        first.to_string()
    } else {
        format!("{first}–{last}")
    }
}

/// What a plan has of starts, threads and stops, in a few words.
pub(super) fn summary(plan: &Plan) -> Message {
    let starts = &plan.process.starts.list;
    let by = |wanted: fn(StartOrigin) -> bool| starts.iter().filter(|start| wanted(start.origin)).count();
    let told = by(|origin| matches!(origin, StartOrigin::Drawn | StartOrigin::Given));
    let there = by(|origin| matches!(origin, StartOrigin::Ready | StartOrigin::ExistingOpening));
    let from_edge = by(|origin| origin == StartOrigin::BlankEdge);
    let in_air = by(|origin| origin == StartOrigin::Air);
    let of = |count: usize, words: &str| {
        if count == 0 {
            String::new()
        } else {
            format!("{count} {words}, ")
        }
    };
    let of_kind = |kind: OperationKind| plan.steps().filter(move |step| step.kind == kind);
    message!(
        "{} ({}{} drawn or given, {}{}{} proposed), {}, {}, {} travel",
        counted(starts.len(), "start hole"),
        of(there, "there already"),
        told,
        of(from_edge, "from the edge"),
        of(in_air, "in air"),
        starts.len() - told - there - from_edge - in_air,
        counted(of_kind(OperationKind::Thread).count(), "wire threading"),
        counted(of_kind(OperationKind::Stop).count(), "stop"),
        mm(plan.travel_mm()).at_most(1)
    )
}
