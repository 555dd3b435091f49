use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::tolerance::JOIN_MM;
use crate::units::UM_PER_MM;

/// A gap that was closed on request.
pub(super) const CHECK: Check = Check {
    name: "gap-closed",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "Gaps that were closed because a wider join was asked for.",
    why: "The ends were moved together, so that the contour differs from the drawing by up to half the gap there.",
    what_to_do: "Look at the place; where the drawing should have met, have it mended.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for gap in &subject.contours.facts.gaps_closed {
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                format!(
                    "a gap of {:.3} µm was closed between the ends at x {:.4} y {:.4} and x {:.4} y {:.4}",
                    gap.size_mm * UM_PER_MM,
                    gap.from.x,
                    gap.from.y,
                    gap.to.x,
                    gap.to.y
                ),
                CHECK.remedy(),
            );
            subject
                .about_curves(finding, &[gap.curves.0, gap.curves.1])
                .at(gap.from)
                .measured(Quantity::um_of_mm(gap.size_mm))
                .limit(Quantity::um_of_mm(JOIN_MM))
        });
    }
}
