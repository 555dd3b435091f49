use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};
use crate::process::StartOrigin;

/// Regions without room for a start hole.
pub(super) const CHECK: Check = Check {
    name: "start-hole-wider-than-slot",
    title: "start hole wider than the slot",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Openings, and parts of them, that nowhere have room for a start hole of the book with the drift of its drill \
                (`rule.start-hole`).",
    why: "The wire has to be threaded there, and the hole would cut into the finished wall.",
    what_to_do: "Use a smaller drill, take a finer wire, or widen the slot at one place.",
    options: "`--drill`, or `drill_mm` under `rule.start-hole` of the book",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    let widest = process
        .starts
        .list
        .iter()
        .filter(|start| matches!(start.origin, StartOrigin::Roomiest | StartOrigin::Center));
    for start in widest.filter(|start| start.lacks_room()) {
        sink.push(|| {
            let hole_mm = start.hole_mm.unwrap_or_default();
            let overlaps = start.clearance_mm < 0.5 * hole_mm;
            let severity = if overlaps {
                CHECK.severity
            } else {
                Severity::Warning
            };
            let (clearance_mm, required_clearance_mm) =
                (2.0 * start.clearance_mm, 2.0 * start.required_clearance_mm);
            let message = message!(
                "a start hole of {} asks for a width of {}; the opening is {} wide at its roomiest place",
                mm(hole_mm).fixed(3),
                mm(required_clearance_mm).fixed(3),
                mm(clearance_mm).fixed(3)
            );
            Finding::new(CHECK.name, severity, message, CHECK.remedy())
                .at(start.at)
                .on_contour(start.contour)
                .measured(Quantity::mm(clearance_mm))
                .limit(Quantity::mm(required_clearance_mm))
        });
    }
}
