use super::{Check, Sink, Stage, Subject};
use crate::contour::Contour;
use crate::finding::{Finding, Severity};
use crate::message::{message, mm};

/// Starts that lie where the wire cannot come from.
pub(super) const CHECK: Check = Check {
    name: "start-hole-misplaced",
    title: "start hole misplaced",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Start holes that lie in material that is kept, or in another opening than the path: drawn, there already, given, or proposed where no place beside the part has room.",
    why: "The hole would spoil the part, and the wire would cut through a wall on its way to the path.",
    what_to_do: "Give it a place in the opening itself, or for an outside contour in the waste round it.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for start in process.starts.list.iter().filter(|start| start.misplaced) {
        sink.push(|| {
            let message = message!(
                "the start at ({}, {}) does not lie on the waste side of contour {}",
                mm(start.at.x).fixed(3).bare(),
                mm(start.at.y).fixed(3).bare(),
                start.contour
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(start.at)
                .on_contour(start.contour)
        });
    }
    for hole in &process.starts.unused {
        let Some(kept_by) = hole.kept_by else { continue };
        // Where the side is unclear, so is what it keeps.
        let known = |contour: &Contour| contour.keeps_known_side();
        if !subject.contours.get(kept_by).is_some_and(known) {
            continue;
        }
        sink.push(|| {
            let message = message!(
                "the start hole at ({}, {}) lies in material that contour {} keeps",
                mm(hole.at.x).fixed(3).bare(),
                mm(hole.at.y).fixed(3).bare(),
                kept_by
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(hole.at)
                .on_contour(kept_by)
        });
    }
}
