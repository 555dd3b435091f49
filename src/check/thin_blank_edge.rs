use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};

/// Too little of the blank left beside the cut.
pub(super) const CHECK: Check = Check {
    name: "thin-blank-edge",
    title: "thin blank edge",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Places where the kerf round a part leaves less of the edge of the blank than `edge_margin_mm` under \
                `rule.holding` of the book (estimate).",
    why: "A thin edge bends and swings, and where the kerf breaks through it the frame that holds the part falls open.",
    what_to_do: "Move the part away from the edge, or take a larger blank.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    let limit_mm = subject.rules.holding.edge_margin_mm.value();
    for fault in &process.blank_faults.near_edge {
        sink.push(|| {
            let message = if fault.found_mm > 0.0 {
                message!(
                    "only {} of the blank are left between the kerf and its edge (limit {})",
                    mm(fault.found_mm).fixed(3),
                    mm(limit_mm)
                )
            } else {
                message!(
                    "the kerf breaks through the edge of the blank (limit {})",
                    mm(limit_mm)
                )
            };
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(fault.at)
                .on_contour(fault.contour)
                .measured(Quantity::mm(fault.found_mm))
                .limit(Quantity::mm(limit_mm))
        });
    }
}
