use super::{Check, Sink, Stage, Subject};
use crate::drawing::CurveFactKind;
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};
use crate::tolerance::LIES_FLAT_MM;

/// A curve that lies above or below the others.
pub(super) const CHECK: Check = Check {
    name: "height-differs",
    title: "heights differ",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Flat curves that lie at another height (z) than most.",
    why: "All curves are taken as seen from above. Edges of a step, a chamfer or another view then look like one profile with what lies below them, though they are not.",
    what_to_do: "Flatten the drawing to z = 0 if this is one profile; else delete what lies at another height.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for fact in &subject.drawing.facts {
        let CurveFactKind::OtherHeight {
            height_mm,
            usual_mm,
            curves,
        } = fact.kind
        else {
            continue;
        };
        sink.push(|| {
            let lie = match curves {
                1 => format!("this {} lies", fact.origin.entity),
                n => format!("this {} and {} more lie", fact.origin.entity, n - 1),
            };
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                message!(
                    "{} at z = {}, most curves at z = {} (limit {} apart); all are taken as seen from above",
                    lie,
                    mm(height_mm).fixed(4),
                    mm(usual_mm).fixed(4),
                    mm(LIES_FLAT_MM)
                ),
                CHECK.remedy(),
            );
            subject
                .of_curve(finding, &fact.origin)
                .at(fact.at)
                .measured(Quantity::mm((height_mm - usual_mm).abs()))
                .limit(Quantity::mm(LIES_FLAT_MM))
        });
    }
}
