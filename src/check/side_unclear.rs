use super::{Check, Sink, Stage, Subject, counted};
use crate::finding::{Finding, Quantity, Severity};
use crate::job::Purpose;

/// Nothing that bounds material is left around a contour, though a closed curve is drawn there.
pub(super) const CHECK: Check = Check {
    name: "side-unclear",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Contours to be cut around which the only closed curve is given as `reference` or `ignore`, or may be the frame of the \
                sheet as well as the outline of a plate.",
    why: "Which side stays hangs on that curve: cut on the wrong side, the wall is a whole kerf and more too deep. No path and no \
          price are made of such a contour.",
    what_to_do: "Say which side of the contour stays with `--contour N=part` or `--contour N=opening`, or give the curve around it as \
                 `existing` if material ends there.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for unclear in &subject.contours.facts.sides_unclear {
        let Some(contour) = subject.contours.get(unclear.contour) else {
            continue;
        };
        sink.push(|| {
            let around = &subject.drawing.curves[unclear.around].origin;
            let layer = &subject.drawing.layers[around.layer as usize].name;
            let taken_for = match unclear.purpose {
                Purpose::Reference => "is given as reference",
                Purpose::Ignore => "is left out",
                _ => "may be a frame or the outline of a plate",
            };
            let inside = match unclear.inside {
                0 => String::new(),
                more => format!(" and {} inside it", counted(more, "contour")),
            };
            let message = format!(
                "the side of contour {}{inside} hangs on the closed curve around it (layer `{layer}`, line {}), which {taken_for}",
                contour.id, around.line
            );
            let remedy = format!(
                "say `--contour {id}=part` if the material inside stays, `--contour {id}=opening` if that outside stays; or give layer \
                 `{layer}` as existing if material ends there",
                id = contour.id
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, remedy)
                .on_contour(contour.id)
                .measured(Quantity::mm(contour.perimeter_mm));
            subject
                .about_curves(finding, &contour.curves)
                .at(contour.bounds.min)
        });
    }
}
