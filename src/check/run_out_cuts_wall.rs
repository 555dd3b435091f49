use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;
use crate::toolpath::RefusalReason;

/// Open cuts whose run-out would cut what is kept.
pub(super) const CHECK: Check = Check {
    name: "run-out-cuts-wall",
    title: "no room to run out",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Slits and trims that leave the material where the wire has no room to run out: beyond the edge it would cut into a wall, or go on \
                cutting along the edge.",
    why: "The wire lags, and is straight in the kerf only when it is clear of the material; a run-out that meets a wall scraps it. \
          There is no path, and so no time and no price.",
    what_to_do: "End the line where the wire has room to run out, let it cross the edge more steeply, or end it in the material at a \
                 drawn hole.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_refusals(&CHECK, sink, |reason| {
        matches!(
            reason,
            RefusalReason::RunOutCutsWall { .. } | RefusalReason::LeavesTooFlat
        )
    });
}
