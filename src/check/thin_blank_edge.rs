use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};

/// Too little of the blank left beside the cut.
pub(super) const CHECK: Check = Check {
    name: "thin-blank-edge",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Places where the kerf round a part leaves less of the edge of the blank than `edge_margin_mm` under \
                `rule.holding` of the book (own judgement).",
    why: "A thin edge bends and swings, and where the kerf breaks through it the frame that holds the part falls open.",
    what_to_do: "Move the part away from the edge, or take a larger blank.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    let limit_mm = subject.rules.holding.edge_margin_mm.value();
    for fault in &process.blank_faults.near_edge {
        sink.push(|| {
            let message = if fault.found_mm > 0.0 {
                format!(
                    "only {:.3} mm of the blank are left between the kerf and its edge (limit {limit_mm} mm)",
                    fault.found_mm
                )
            } else {
                format!("the kerf breaks through the edge of the blank (limit {limit_mm} mm)")
            };
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(fault.at)
                .on_contour(fault.contour)
                .measured(Quantity::mm(fault.found_mm))
                .limit(Quantity::mm(limit_mm))
        });
    }
}
