use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};

/// A place where three or more ends meet.
pub(super) const CHECK: Check = Check {
    name: "branching-node",
    title: "contour branches",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Places where three or more ends of curves to be cut meet.",
    why: "The drawing can be read in more than one way there, and the wire can follow only one.",
    what_to_do: "Remove or give another use to the curves that are no edge to be cut.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for branch in &subject.contours.facts.branches {
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                format!("{} ends of curves meet here (limit 2)", branch.ends),
                CHECK.remedy(),
            );
            subject
                .about_curves(finding, &branch.curves)
                .at(branch.at)
                .measured(Quantity::count(branch.ends))
                .limit(Quantity::count(2))
        });
    }
}
