use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm, of_unit};

/// Tabs and last stretches shorter than their piece asks for.
pub(super) const CHECK: Check = Check {
    name: "tab-cannot-hold",
    title: "tab cannot hold the piece",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Tabs, and last stretches of pieces without a tab, that are shorter than the weight of the piece and the \
                flushing ask for: no tab is longer than `most_mm` and `most_share` of its path under `rule.tab` of the book.",
    why: "The tab bends or breaks before the stop: the piece drops, pinches the wire and may hit what is below.",
    what_to_do: "Before the rough cut ends, clamp the piece or support it from below. Where the finding names two or three \
                 tabs, they hold it instead: stop before each of the others too. Less flushing asks for less.",
    options: "",
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
            let holds = tab.several.map_or_else(
                || "three would not do either: clamp it".into(),
                |tabs| {
                    let tab = if tabs.count == 1 { "tab" } else { "tabs" };
                    message!(
                        "{} {} of {} would do, or a clamp",
                        tabs.count,
                        tab,
                        mm(tabs.length_mm).fixed(1)
                    )
                },
            );
            let message = message!(
                "the {} of {} is too short for {} and the flushing, which ask for {}; {}",
                what,
                mm(tab.length_mm).fixed(1),
                of_unit(separation.piece.mass_kg, "kg").fixed(2),
                mm(tab.required_clearance_mm).fixed(1),
                holds
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(tab.at)
                .on_contour(separation.piece.contour)
                .measured(Quantity::mm(tab.length_mm))
                .limit(Quantity::mm(tab.required_clearance_mm))
        });
    }
}
