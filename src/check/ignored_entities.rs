use super::{Check, Sink, Stage, Subject};
use crate::drawing::Ignored;
use crate::drawing::ignored;
use crate::finding::{Finding, Quantity, Severity};

/// What is in the file but is no cut geometry.
pub(super) const CHECK: Check = Check {
    name: "ignored-entities",
    title: "entities left out",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Entities that hold no curve to cut (text, dimensions, hatches, points, bodies, types that are not read), by type.",
    why: "Nothing may be dropped unseen: an outline kept only as a hatch, a body or an unknown type would be missing from the cut.",
    what_to_do: "Where one of them stands for an edge of the part, turn it into lines and arcs in the drawing.",
    options: "",
    run,
};

/// Returns the severity of a row; `None` when another check reports it.
fn severity(row: &Ignored) -> Option<Severity> {
    match row.reason.as_str() {
        ignored::OFF
        | ignored::FROZEN
        | ignored::INVISIBLE
        | ignored::NO_LENGTH
        | ignored::NOT_FLAT
        | ignored::NOT_PLACED => None,
        ignored::BODY | ignored::UNKNOWN | ignored::ENDLESS | ignored::UNREADABLE => Some(Severity::Warning),
        _ => Some(Severity::Note),
    }
}

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for row in &subject.drawing.ignored {
        let Some(severity) = severity(row) else { continue };
        sink.push(|| {
            let remedy = if severity == Severity::Warning {
                "if it stands for an edge of the part, turn it into lines and arcs in the drawing"
            } else {
                "nothing, unless it stands for an edge of the part"
            };
            let mut finding = Finding::new(
                CHECK.name,
                severity,
                format!(
                    "{} {} left out: {}; the first begins in line {}",
                    row.count, row.kind, row.reason, row.first_line
                ),
                remedy,
            );
            finding.line = Some(row.first_line);
            finding.measured(Quantity::count(row.count))
        });
    }
}
