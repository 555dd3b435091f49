use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};
use crate::process::StartOrigin;

/// Start holes too near to a wall.
pub(super) const CHECK: Check = Check {
    name: "start-hole-cuts-wall",
    title: "start hole cuts a wall",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Start holes, drawn, there already, given or proposed beside a wall, that overlap a contour, or may when their drill wanders by `drift_share` of the \
                thickness (`rule.start-hole` of the book); `wall_clear_mm` of it is kept clear besides.",
    why: "The hole leaves a notch in the finished wall, at the far side of the work at the latest.",
    what_to_do: "Move it away from the wall, or use a smaller drill.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    // Where an opening has no room anywhere, that is told by another check.
    let near = process.starts.list.iter().filter(|start| {
        !start.misplaced && !matches!(start.origin, StartOrigin::Roomiest | StartOrigin::Center)
    });
    for start in near.filter(|start| start.lacks_room()) {
        sink.push(|| {
            let hole_mm = start.hole_mm.unwrap_or_default();
            let (severity, doing) = if start.clearance_mm < 0.5 * hole_mm {
                (CHECK.severity, "overlaps the wall")
            } else {
                (Severity::Warning, "may reach the wall")
            };
            let message = message!(
                "the start hole of {} {}: its middle is {} from it (needed {}, with {} of drift)",
                mm(hole_mm).fixed(3),
                doing,
                mm(start.clearance_mm).fixed(3),
                mm(start.required_clearance_mm).fixed(3),
                mm(start.drift_mm).fixed(3)
            );
            Finding::new(CHECK.name, severity, message, CHECK.remedy())
                .at(start.at)
                .on_contour(start.contour)
                .measured(Quantity::mm(start.clearance_mm))
                .limit(Quantity::mm(start.required_clearance_mm))
        });
    }
}
