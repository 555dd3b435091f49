use super::{Check, Sink, Stage, Subject};
use crate::contour::Gap;
use crate::finding::{Finding, Mend, Quantity, Severity};
use crate::message::{Message, message, mm, um_of_mm};
use crate::tolerance::JOIN_MM;

/// Two loose ends that nearly meet.
pub(super) const CHECK: Check = Check {
    name: "gap-in-contour",
    title: "gap in contour",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Loose ends of curves to be cut with another loose end close by.",
    why: "The contour is open by a hair: it looks closed on the screen, but has no inside for the wire.",
    what_to_do: "Close the gap in the drawing, or have it joined with a length above the gap.",
    options: "`--join LENGTH`",
    run,
};

/// Says between which ends a gap lies.
pub(super) fn between_ends(gap: &Gap) -> Message {
    message!(
        "between the ends at x {} y {} and x {} y {}",
        mm(gap.from.x).fixed(4).bare(),
        mm(gap.from.y).fixed(4).bare(),
        mm(gap.to.x).fixed(4).bare(),
        mm(gap.to.y).fixed(4).bare()
    )
}

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for gap in &subject.contours.facts.gaps {
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                message!(
                    "a gap of {} {}",
                    um_of_mm(gap.size_mm).fixed(3),
                    between_ends(gap)
                ),
                "close it in the drawing, or have it joined",
            )
            .mended_by(vec![Mend::joining(gap.size_mm)]);
            subject
                .about_curves(finding, &[gap.curves.0, gap.curves.1])
                .at(gap.from)
                .measured(Quantity::um_of_mm(gap.size_mm))
                .limit(Quantity::um_of_mm(JOIN_MM))
        });
    }
}
