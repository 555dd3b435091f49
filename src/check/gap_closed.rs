use super::gap_in_contour::between_ends;
use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, um_of_mm};
use crate::tolerance::JOIN_MM;

/// A gap that was closed on request.
pub(super) const CHECK: Check = Check {
    name: "gap-closed",
    title: "gap closed",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "Gaps that were closed because a wider join was given.",
    why: "The ends were moved together, so that the contour differs from the drawing by up to half the gap there.",
    what_to_do: "Look at the place; where the drawing should have met, have it mended.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for gap in &subject.contours.facts.gaps_closed {
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                message!(
                    "a gap of {} was closed {}",
                    um_of_mm(gap.size_mm).fixed(3),
                    between_ends(gap)
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
