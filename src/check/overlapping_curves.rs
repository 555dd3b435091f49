use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};

/// Two curves that run together.
pub(super) const CHECK: Check = Check {
    name: "overlapping-curves",
    title: "overlapping curves",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Curves to be cut that run along one another for a stretch: collinear lines, arcs of one circle.",
    why: "The stretch would be cut twice, and the chain of curves is in doubt where they part.",
    what_to_do: "Trim or delete one of them in the drawing.",
    options: "",
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
            let message = message!(
                "two curves run together for {}, to x {} y {}; {}",
                mm(overlap.length_mm).fixed(4),
                mm(overlap.to.x).fixed(4).bare(),
                mm(overlap.to.y).fixed(4).bare(),
                taken
            );
            let finding = Finding::new(CHECK.name, severity, message, CHECK.remedy())
                .measured(Quantity::mm(overlap.length_mm));
            subject
                .about_curves(finding, &[overlap.curves.0, overlap.curves.1])
                .at(overlap.from)
        });
    }
}
