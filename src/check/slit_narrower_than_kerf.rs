use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;
use crate::toolpath::RefusalReason;

/// Slits of a width that the passes leave no room for.
pub(super) const CHECK: Check = Check {
    name: "slit-narrower-than-kerf",
    title: "slit narrower than its passes need",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Slits of a width below twice the offset of the rough cut: one kerf along the middle takes more than is left for the skims.",
    why: "The rough cut alone would make the slit wider than called for, or leave the skims nothing to take. There is no path, and so no time \
          and no price.",
    what_to_do: "Take fewer passes or finer wire, make the slit wider, or give it no width: then it is one kerf wide, in one pass.",
    options: "`--demand \"contour N=passes 1\"`, `--wire`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_refusals(&CHECK, sink, |reason| {
        matches!(reason, RefusalReason::SlitNarrow { .. })
    });
}
