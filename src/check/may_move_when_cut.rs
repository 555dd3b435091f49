use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::process::DistortionReason;

const PERCENT: f64 = 100.0;

/// What may move when it is cut.
pub(super) const CHECK: Check = Check {
    name: "may-move-when-cut",
    title: "may move when cut",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Slender parts, whose diagonal squared is more than `slender_from` times their area, and openings that take \
                more than `opening_share` of what they are cut from (`rule.holding` of the book; common practice, no source).",
    why: "Hardened and rolled blanks hold stress in balance. The cut sets it free: the part bends, the opening closes or \
          gapes while the wire is still in it, and the skims find too much stock on one wall and none on the other.",
    what_to_do: "Rough it beforehand with stock all round, let it relieve, clamp it again, and skim it then.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for place in &process.distortion_risks {
        sink.push(|| {
            let (message, factor, unit) = match place.reason {
                DistortionReason::Slender => (
                    format!(
                        "a slender part: its diagonal squared is {:.1} times its area (limit {:.1})",
                        place.found, place.limit
                    ),
                    1.0,
                    "",
                ),
                DistortionReason::BigOpening => (
                    format!(
                        "a big opening: it takes {:.0} % of what it is cut from (limit {:.0} %)",
                        place.found * PERCENT,
                        place.limit * PERCENT
                    ),
                    PERCENT,
                    "%",
                ),
            };
            let quantity = |value: f64| Quantity {
                value: value * factor,
                unit,
            };
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(place.at)
                .on_contour(place.contour)
                .measured(quantity(place.found))
                .limit(quantity(place.limit))
        });
    }
}
