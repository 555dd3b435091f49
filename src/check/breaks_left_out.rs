use super::{Check, Sink, Stage, Subject};
use crate::drawing::CurveFactKind;
use crate::finding::{Finding, Severity};

/// A multiple line that was drawn without its gaps.
pub(super) const CHECK: Check = Check {
    name: "breaks-left-out",
    title: "wire breaks left out",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "MLINEs with breaks in their lines.",
    why: "The lines were drawn through, so that the wire would cut where the drawing shows a gap.",
    what_to_do: "Explode the MLINE in the drawing.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for fact in &subject.drawing.facts {
        if fact.kind != CurveFactKind::BreaksLeftOut {
            continue;
        }
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                "this MLINE has breaks, which were not read: its lines are drawn through".to_owned(),
                "explode it in the drawing",
            );
            subject.of_curve(finding, &fact.origin).at(fact.at)
        });
    }
}
