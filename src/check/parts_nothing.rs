use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;
use crate::toolpath::RefusalReason;

/// Trims that cut nothing off.
pub(super) const CHECK: Check = Check {
    name: "parts-nothing",
    title: "trim cuts nothing off",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Trims that run from one edge to another, as from a bore to the outside: the material stays in one piece.",
    why: "Nothing drops, so that neither side is waste: it is likely meant as a slit. There is no path, and so no time and no price.",
    what_to_do: "Give it the purpose slit if material stays on both sides; else draw what is cut off with both ends on one edge.",
    options: "`--layer NAME=slit`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_refusals(&CHECK, sink, |reason| reason == RefusalReason::PartsNothing);
}
