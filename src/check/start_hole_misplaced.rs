use super::{Check, Sink, Stage, Subject};
use crate::contour::Contour;
use crate::finding::{Finding, Severity};

/// Starts that lie where the wire cannot come from.
pub(super) const CHECK: Check = Check {
    name: "start-hole-misplaced",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Start holes that lie in material that is kept, or in another opening than the path: drawn, there already, given, or proposed where no place beside the part has room.",
    why: "The hole would spoil the part, and the wire would cut through a wall on its way to the path.",
    what_to_do: "Give it a place in the opening itself, or for an outside contour in the waste round it.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for start in process.starts.list.iter().filter(|start| start.misplaced) {
        sink.push(|| {
            let message = format!(
                "the start at ({:.3}, {:.3}) does not lie on the waste side of contour {}",
                start.at.x, start.at.y, start.contour
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
            let message = format!(
                "the start hole at ({:.3}, {:.3}) lies in material that contour {kept_by} keeps",
                hole.at.x, hole.at.y
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(hole.at)
                .on_contour(kept_by)
        });
    }
}
