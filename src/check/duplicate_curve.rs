use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};

/// A curve drawn twice.
pub(super) const CHECK: Check = Check {
    name: "duplicate-curve",
    title: "duplicate curve",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "Curves that repeat another curve to be cut, in either direction.",
    why: "A line drawn twice would be cut twice, and its ends make false branches.",
    what_to_do: "Nothing for the plan, since each is taken once; have the drawing cleaned.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for double in &subject.contours.facts.duplicate_curves {
        sink.push(|| {
            let curves = &subject.drawing.curves;
            let kept = curves[double.kept].origin;
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                format!(
                    "this {} repeats the {} in line {}; it was left out",
                    curves[double.curve].origin.entity, kept.entity, kept.line
                ),
                CHECK.remedy(),
            );
            let finding = subject.about_curves(finding, &[double.curve, double.kept]);
            match curves[double.curve].polyline.vertices.first() {
                Some(vertex) => finding.at(vertex.at),
                None => finding,
            }
        });
    }
}
