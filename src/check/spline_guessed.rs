use super::{Check, Sink, Stage, Subject};
use crate::drawing::CurveFactKind;
use crate::finding::{Finding, Severity};

/// A spline that only names points on its way.
pub(super) const CHECK: Check = Check {
    name: "spline-guessed",
    title: "spline guessed",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Splines given by fit points alone, without control points and knots.",
    why: "Between its points such a spline runs as the drawing program chose; another program may choose otherwise by hundredths.",
    what_to_do: "Have the spline saved with control points, or as arcs; or compare the shape with the print.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for fact in &subject.drawing.facts {
        if fact.kind != CurveFactKind::FitPointsOnly {
            continue;
        }
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                "this SPLINE holds fit points only; a smooth cubic was drawn through them, and what lies between is our guess"
                    .to_owned(),
                "have it saved with control points or as arcs, or compare the shape with the print",
            );
            subject.of_curve(finding, &fact.origin).at(fact.at)
        });
    }
}
