use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};

/// A name given for several drawings that this one does not have.
pub(super) const CHECK: Check = Check {
    name: "name-not-in-drawing",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "Layers, contours, linetypes and colours that are named for several drawings at once and stand for nothing in this \
                one. Named for one drawing alone, or found in none of them, they are refused.",
    why: "A mistyped layer keeps its contours among those to be cut: the outline of a plate that is there already is then cut and \
          paid for.",
    what_to_do: "Correct the name, or give this drawing a job file of its own.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for missing in &subject.contours.facts.names_missing {
        sink.push(|| {
            let message = format!("{}; {}", missing.words(), missing.there);
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
        });
    }
}
