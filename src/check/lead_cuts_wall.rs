use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};

/// Leads that come too near to a wall.
pub(super) const CHECK: Check = Check {
    name: "lead-cuts-wall",
    title: "lead-in cuts a wall",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Ways of the wire from a start onto its path that come nearer to a wall than the path of that pass may.",
    why: "The wire cuts into a finished wall before it is on its path.",
    what_to_do: "Give another start, or another place to come onto the path.",
    options: "`--start N:X,Y`, or `--entry N:X,Y`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let (Some(toolpaths), Some(process)) = (subject.toolpaths, subject.process) else {
        return;
    };
    for (wire, run) in toolpaths.loops.iter().zip(&process.leads) {
        let Some((at, deep_mm)) = run.blocked else {
            continue;
        };
        sink.push(|| {
            let message = message!(
                "pass {}: the way from the start onto the path comes {} nearer to a wall than the path may",
                wire.pass,
                mm(deep_mm).fixed(3)
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(at)
                .on_contour(wire.contour)
                .measured(Quantity::mm(deep_mm))
                .limit(Quantity::mm(0.0))
        });
    }
}
