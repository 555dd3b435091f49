use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};

/// Tabs and last stretches shorter than their piece asks for.
pub(super) const CHECK: Check = Check {
    name: "tab-cannot-hold",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Tabs, and last stretches of pieces without a tab, for which there is less room than the weight of the piece and \
                the flushing ask for.",
    why: "The tab bends or breaks before the stop: the piece drops, pinches the wire and may hit what is below.",
    what_to_do: "Support the piece from below or by magnets, give it a second tab, or make it of several pieces.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for separation in &process.separations {
        let Some(tab) = separation
            .uncut()
            .filter(|tab| tab.length_mm < tab.required_clearance_mm)
        else {
            continue;
        };
        let what = match separation.tab() {
            Some(_) => "tab",
            None => "last stretch",
        };
        sink.push(|| {
            let message = format!(
                "there is room for a {what} of {:.2} mm, the piece of {:.2} kg asks for {:.2} mm",
                tab.length_mm, separation.piece.mass_kg, tab.required_clearance_mm
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(tab.at)
                .on_contour(separation.piece.contour)
                .measured(Quantity::mm(tab.length_mm))
                .limit(Quantity::mm(tab.required_clearance_mm))
        });
    }
}
