use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};

/// Start holes that the wire hardly passes.
pub(super) const CHECK: Check = Check {
    name: "start-hole-too-thin",
    title: "start hole too small",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Start holes, drawn, there already or of a given diameter, smaller than the wire, the clearance of threading and the drift of the drill over the thickness \
                together (`rule.start-hole` of the book).",
    why: "A hole that wanders lets less through than its diameter: the wire does not find its way, and somebody has to come.",
    what_to_do: "Drill it larger, or take a finer wire.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for start in &process.starts.list {
        let Some(hole_mm) = start.hole_mm.filter(|mm| *mm < start.threads_from_mm) else {
            continue;
        };
        sink.push(|| {
            let message = message!(
                "the start hole is {} across; the wire threads from {}, with {} of drift",
                mm(hole_mm).fixed(3),
                mm(start.threads_from_mm).fixed(3),
                mm(start.drift_mm).fixed(3)
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(start.at)
                .on_contour(start.contour)
                .measured(Quantity::mm(hole_mm))
                .limit(Quantity::mm(start.threads_from_mm))
        });
    }
}
