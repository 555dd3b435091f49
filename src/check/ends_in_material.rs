use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;
use crate::toolpath::RefusalReason;

/// Trims that end in the material.
pub(super) const CHECK: Check = Check {
    name: "ends-in-material",
    title: "trim ends in the material",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Trims of which an end lies in the material, farther from an edge than half the kerf.",
    why: "A line that stops in the material cuts nothing off, so that it has no side to keep. There is no path, and so no time and no \
          price.",
    what_to_do: "Run both ends of the trim out over the edge; if the wire is to stop in the material, give it the purpose slit.",
    options: "`--layer NAME=slit`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_refusals(&CHECK, sink, |reason| reason == RefusalReason::EndsInMaterial);
}
