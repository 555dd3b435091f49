use super::{Check, Sink, Stage, Subject, counted};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, um_of_mm};
use crate::tolerance::{JOIN_MM, PATH_MM};

/// Ends that were joined within the usual join distance.
pub(super) const CHECK: Check = Check {
    name: "ends-joined",
    title: "ends joined",
    stage: Stage::Contour,
    severity: Severity::Note,
    looks_for: "Ends that do not meet exactly and were joined, since they are no farther apart than the join distance; where the widest of these \
                gaps is above a tenth of a micrometre, which is what a path is held to.",
    why: "The contour differs from the drawing by up to half the gap there. A drawing written with few decimals has many.",
    what_to_do: "Nothing, where the tolerance allows for it; else have the drawing written with more decimals.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let facts = &subject.contours.facts;
    let Some(widest) = facts.widest_merge.filter(|widest| widest.size_mm > PATH_MM) else {
        return;
    };
    sink.push(|| {
        let message = message!(
            "{} between ends closed, the widest {}",
            counted(facts.merged_joints, "gap"),
            um_of_mm(widest.size_mm).fixed(3)
        );
        let finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy());
        subject
            .about_curves(finding, &[widest.curve])
            .at(widest.at)
            .measured(Quantity::um_of_mm(widest.size_mm))
            .limit(Quantity::um_of_mm(JOIN_MM))
    });
}
