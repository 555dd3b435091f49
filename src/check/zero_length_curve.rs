use super::{Check, Sink, Stage, Subject};
use crate::drawing::CurveFactKind;
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};
use crate::tolerance::SAME_POINT_MM;

/// A curve of no size.
pub(super) const CHECK: Check = Check {
    name: "zero-length-curve",
    title: "zero length curve",
    stage: Stage::Drawing,
    severity: Severity::Note,
    looks_for: "Lines whose ends coincide, arcs and circles of radius 0, ellipses of no width.",
    why: "They cut nothing, but show that something was lost or drawn twice when the drawing was made.",
    what_to_do: "Delete them in the drawing; look whether something belongs in their place.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for fact in &subject.drawing.facts {
        if fact.kind != CurveFactKind::ZeroLength {
            continue;
        }
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                message!(
                    "this {} has no length or no radius (below {}) and is left out",
                    fact.origin.entity,
                    mm(SAME_POINT_MM).exponent()
                ),
                "delete it in the drawing; look whether something belongs in its place",
            );
            subject
                .of_curve(finding, &fact.origin)
                .at(fact.at)
                .measured(Quantity::mm(0.0))
                .limit(Quantity::mm(SAME_POINT_MM))
        });
    }
}
