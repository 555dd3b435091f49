use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};

/// A text that asks for a taper or a land.
pub(super) const CHECK: Check = Check {
    name: "taper-in-text",
    title: "taper called for in a text",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Texts that speak of a taper, or of a land with a number.",
    why: "A plan is made for a wire that stands upright. A tapered wall, or a land with relief below it, takes other paths, other passes and \
          another time.",
    what_to_do: "Do not take this plan's time for such a wall. Where the text calls for something else, read on; where it calls for a taper, give it in the job: it is then refused.",
    options: "`taper_deg` and `land_mm` in the job file",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let drawing = subject.drawing;
    for text in drawing.texts.iter().filter(|text| asks(&text.text)) {
        sink.push(|| {
            let quoted = super::quoted(&text.text);
            let mut finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                format!("the text \"{quoted}\" asks for a taper or a land: the time of a straight cut is not that of this wall"),
                "say so in the job, or set it aside if it means something else",
            )
            .at(text.at);
            finding.layer = Some(drawing.layers[text.layer as usize].name.clone());
            finding.line = Some(text.line);
            finding.entities = super::handles([text.handle]);
            finding
        });
    }
}

/// Whether a text calls for a taper, or for a land with its length.
fn asks(text: &str) -> bool {
    let lower = text.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphabetic());
    let numbered = lower.contains(|c: char| c.is_ascii_digit());
    words.any(|word| matches!(word, "taper" | "tapered" | "tapers") || (word == "land" && numbered))
}
