use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;
use crate::toolpath::RefusalReason;

/// Passes for which there is no verified path.
pub(super) const CHECK: Check = Check {
    name: "path-refused",
    title: "no path",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Passes of a contour for which no wire path passed the verifier, or none can exist: the contour is open, \
                crosses itself or encloses nothing, or a slit meets no material, has no place to start or cuts a piece off.",
    why: "A path that is not proved is not shown. Lengths and times that need it are left empty, never smaller.",
    what_to_do: "Correct the contour at the place given; if it is sound there, keep the drawing and report it.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_refusals(&CHECK, sink, |reason| !has_check_of_its_own(reason));
}

/// Whether another check tells of refusals for a reason.
const fn has_check_of_its_own(reason: RefusalReason) -> bool {
    matches!(
        reason,
        RefusalReason::RunOutCutsWall { .. }
            | RefusalReason::LeavesTooFlat
            | RefusalReason::SlitNarrow { .. }
            | RefusalReason::EndsInMaterial
            | RefusalReason::PartsNothing
    )
}
