use super::{Check, Sink, Stage, Subject};
use crate::drawing::CurveFactKind;
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};
use crate::tolerance::LIES_FLAT_MM;

/// A curve in space.
pub(super) const CHECK: Check = Check {
    name: "curve-not-flat",
    title: "curve not flat",
    stage: Stage::Drawing,
    severity: Severity::Error,
    looks_for: "Curves whose height (z) changes along the way.",
    why: "A profile is flat. The view from above of a curve in space is shorter than the curve, so it is left out rather than cut wrong.",
    what_to_do: "Flatten the drawing to z = 0, or delete what does not belong to the profile.",
    options: "",
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
                message!(
                    "this {} runs through {} of height (limit {}) and is left out",
                    fact.origin.entity,
                    mm(rise).fixed(decimals(rise)),
                    mm(LIES_FLAT_MM)
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

/// Three decimals, or four where those would be 0.
fn decimals(mm: f64) -> usize {
    if mm < 0.01 { 4 } else { 3 }
}
