use super::{Check, Sink, Stage, Subject};
use crate::drawing::CurveFactKind;
use crate::finding::{Finding, Quantity, Severity};
use crate::tolerance::LIES_FLAT_MM;

/// A curve in space.
pub(super) const CHECK: Check = Check {
    name: "curve-not-flat",
    stage: Stage::Drawing,
    severity: Severity::Error,
    looks_for: "Curves whose height (z) changes along the way.",
    why: "A profile is flat. The view from above of a curve in space is shorter than the curve, so it is left out rather than cut wrong.",
    what_to_do: "Flatten the drawing to z = 0, or delete what does not belong to the profile.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for fact in &subject.drawing.facts {
        let CurveFactKind::NotFlat(rise) = fact.kind else {
            continue;
        };
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                format!(
                    "this {} runs through {} mm of height (limit {LIES_FLAT_MM} mm) and is left out",
                    fact.origin.entity,
                    readable(rise)
                ),
                "flatten the drawing to z = 0, or delete what does not belong to the profile",
            );
            subject
                .of_curve(finding, &fact.origin)
                .at(fact.at)
                .measured(Quantity::mm(rise))
                .limit(Quantity::mm(LIES_FLAT_MM))
        });
    }
}

/// Rounds to three decimals, or to four digits where that would be 0.
fn readable(mm: f64) -> String {
    if mm < 0.01 {
        format!("{mm:.4}")
    } else {
        format!("{mm:.3}")
    }
}
