use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};

/// Parts that are started from the edge of the blank, since no hole has room.
pub(super) const CHECK: Check = Check {
    name: "frame-opened",
    title: "frame opened by the cut",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Parts beside which a start hole nowhere has room in the blank, so that the wire comes in from its edge.",
    why: "The cut opens the frame round the part: the blank may spring, and the part moves while it is cut (common practice, no source).",
    what_to_do: "Take a larger blank, so that a start hole has room beside the part; or start it from the edge.",
    options: "`start = \"edge\"` in the job file",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for start in process.starts.list.iter().filter(|start| start.opens_frame) {
        sink.push(|| {
            let message = format!(
                "no start hole has room beside contour {} in the blank: the wire comes in from its edge and opens the frame, which may spring",
                start.contour
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(start.at)
                .on_contour(start.contour)
        });
    }
}
