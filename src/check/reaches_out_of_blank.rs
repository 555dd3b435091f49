use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};

/// Contours that the blank does not hold.
pub(super) const CHECK: Check = Check {
    name: "reaches-out-of-blank",
    title: "reaches out of the blank",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Contours to be cut that reach out of the blank, where the blank is drawn or given.",
    why: "There is no material there: the part comes out with a piece missing, and the wire runs in the open.",
    what_to_do: "Take a larger blank, or move the contours on it.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for fault in &process.blank_faults.outside {
        sink.push(|| {
            let message = message!(
                "the contour reaches {} out of the blank",
                mm(fault.found_mm).fixed(3)
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(fault.at)
                .on_contour(fault.contour)
                .measured(Quantity::mm(fault.found_mm))
                .limit(Quantity::mm(0.0))
        });
    }
}
