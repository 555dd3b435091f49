use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};
use crate::message::{message, mm};

/// Start holes from which no path starts.
pub(super) const CHECK: Check = Check {
    name: "start-hole-unused",
    title: "start hole unused",
    stage: Stage::Path,
    severity: Severity::Note,
    looks_for: "Start holes, drawn, there already or given, in waste from which no path starts, or where another hole has more room.",
    why: "It is drilled for nothing, or it belongs to a contour that is not cut.",
    what_to_do: "Leave it out, or give it to its contour.",
    options: "`--start N:X,Y`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for hole in process.starts.unused.iter().filter(|hole| hole.kept_by.is_none()) {
        sink.push(|| {
            let message = message!(
                "no path starts from the start hole at ({}, {})",
                mm(hole.at.x).fixed(3).bare(),
                mm(hole.at.y).fixed(3).bare()
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy()).at(hole.at);
            match hole.contour {
                Some(contour) => finding.on_contour(contour),
                None => finding,
            }
        });
    }
}
