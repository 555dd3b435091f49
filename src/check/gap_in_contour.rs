use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::tolerance::JOIN_MM;
use crate::units::UM_PER_MM;

/// Two loose ends that nearly meet.
pub(super) const CHECK: Check = Check {
    name: "gap-in-contour",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Loose ends of curves to be cut with another loose end close by.",
    why: "The contour is open by a hair: it looks closed on the screen, but has no inside for the wire.",
    what_to_do: "Close the gap in the drawing, or join it with `--join` and a length above the gap.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for gap in &subject.contours.facts.gaps {
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                format!(
                    "a gap of {:.3} µm between the ends at x {:.4} y {:.4} and x {:.4} y {:.4}",
                    gap.size_mm * UM_PER_MM,
                    gap.from.x,
                    gap.from.y,
                    gap.to.x,
                    gap.to.y
                ),
                format!(
                    "close it in the drawing, or join it with `--join {:.4}`",
                    above(gap.size_mm)
                ),
            );
            subject
                .about_curves(finding, &[gap.curves.0, gap.curves.1])
                .at(gap.from)
                .measured(Quantity::um_of_mm(gap.size_mm))
                .limit(Quantity::um_of_mm(JOIN_MM))
        });
    }
}

/// Computes a join length that closes the gap, mm: a little larger, in whole tenths of a micrometre.
fn above(gap_mm: f64) -> f64 {
    const TENTHS_PER_MM: f64 = 10.0 * UM_PER_MM;
    ((gap_mm * TENTHS_PER_MM).floor() + 1.0) / TENTHS_PER_MM
}
