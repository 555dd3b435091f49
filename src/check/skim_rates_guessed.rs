use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;
use crate::pass::Borrowed;

/// Skim rates that rest on judgement alone.
pub(super) const CHECK: Check = Check {
    name: "skim-rates-guessed",
    title: "skim rates estimated",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Materials whose skim rates the book cannot take from its rule, such as polycrystalline diamond, and for which \
                it has no recipe of its own.",
    why: "Minutes and price of the skims may be several times too low or too high.",
    what_to_do: "Time a skim on a test piece, and put its rate into a recipe of its own in the book.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_borrowed(&CHECK, sink, |_, borrowed| {
        let Borrowed::SkimRates { material, factor } = borrowed else {
            return None;
        };
        let band = factor.band;
        Some(format!(
            "the skim rates of {material} are a judgement: {} of those of steel, {} to {}",
            band.expected, band.low, band.high
        ))
    });
}
