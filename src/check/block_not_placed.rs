use super::{Check, Sink, Stage, Subject};
use crate::drawing::CurveFactKind;
use crate::finding::{Finding, Severity};

/// An insertion that draws nothing.
pub(super) const CHECK: Check = Check {
    name: "block-not-placed",
    title: "block not placed",
    stage: Stage::Drawing,
    severity: Severity::Error,
    looks_for: "INSERTs whose block is not in the file, is empty, or is given a scale of 0.",
    why: "What the block should draw is missing from the part: holes, slots, whole contours.",
    what_to_do: "Have the drawing saved with its blocks bound or exploded.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for fact in &subject.drawing.facts {
        let CurveFactKind::NotPlaced(reason) = &fact.kind else {
            continue;
        };
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                format!("{reason}; what it should draw here is missing"),
                "have the drawing saved with its blocks bound or exploded; delete the INSERT if it is not needed",
            );
            subject.of_curve(finding, &fact.origin).at(fact.at)
        });
    }
}
