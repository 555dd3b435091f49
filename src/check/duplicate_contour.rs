use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, um_of_mm};
use crate::tolerance::NEAR_DOUBLE_MM;

/// The same contour twice.
pub(super) const CHECK: Check = Check {
    name: "duplicate-contour",
    title: "duplicate contour",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "Closed contours to be cut that lie on another one: the same hole drawn twice.",
    why: "It would be cut twice, or read as a wall of no thickness, and turn what lies within round.",
    what_to_do: "Delete one of the two in the drawing.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for double in &subject.contours.facts.duplicate_contours {
        // Two that do not quite coincide are both kept, and every side within them is in doubt.
        let (severity, taken) = if double.left_out {
            (CHECK.severity, "it was left out")
        } else {
            (Severity::Error, "both are kept")
        };
        sink.push(|| {
            let curves = &subject.drawing.curves;
            let message = message!(
                "this contour lies on the one that begins in line {}, at most {} apart; {}",
                curves[double.kept].origin.line,
                um_of_mm(double.distance_mm).fixed(3),
                taken
            );
            let finding = Finding::new(CHECK.name, severity, message, CHECK.remedy())
                .measured(Quantity::um_of_mm(double.distance_mm))
                .limit(Quantity::um_of_mm(NEAR_DOUBLE_MM));
            let finding = subject.about_curves(finding, &[double.curve, double.kept]);
            match curves[double.curve].polyline.vertices.first() {
                Some(vertex) => finding.at(vertex.at),
                None => finding,
            }
        });
    }
}
