use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};

/// Two curves that run together.
pub(super) const CHECK: Check = Check {
    name: "overlapping-curves",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Curves to be cut that run along one another for a stretch: collinear lines, arcs of one circle.",
    why: "The stretch would be cut twice, and the chain of curves is in doubt where they part.",
    what_to_do: "Trim or delete one of them in the drawing.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for overlap in &subject.contours.facts.overlaps {
        let (severity, taken) = if overlap.repaired {
            (Severity::Warning, "the stretch was taken once")
        } else {
            (CHECK.severity, "both are kept")
        };
        sink.push(|| {
            let message = format!(
                "two curves run together for {:.4} mm, to x {:.4} y {:.4}; {taken}",
                overlap.length_mm, overlap.to.x, overlap.to.y
            );
            let finding = Finding::new(CHECK.name, severity, message, CHECK.remedy())
                .measured(Quantity::mm(overlap.length_mm));
            subject
                .about_curves(finding, &[overlap.curves.0, overlap.curves.1])
                .at(overlap.from)
        });
    }
}
