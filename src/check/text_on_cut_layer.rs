use std::collections::BTreeSet;

use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};

/// A text among the curves.
pub(super) const CHECK: Check = Check {
    name: "text-on-cut-layer",
    title: "text on a layer that is cut",
    stage: Stage::Drawing,
    severity: Severity::Note,
    looks_for: "Texts on a layer that also holds curves.",
    why: "Text is not cut; but a note beside the profile (a fit, a tolerance, a surface, “2 off”) asks for something that the curves do not say.",
    what_to_do: "Read it; put what it asks into the job. If it should be engraved, it is no work for the wire.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let drawing = subject.drawing;
    let layers: BTreeSet<u32> = drawing.curves.iter().map(|curve| curve.origin.layer).collect();
    for text in drawing.texts.iter().filter(|text| layers.contains(&text.layer)) {
        sink.push(|| {
            let layer = &drawing.layers[text.layer as usize].name;
            let quoted = super::quoted(&text.text);
            let mut finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                format!("the text \"{quoted}\" stands on layer “{layer}” among curves; it is not cut"),
                "read it; put what it asks into the job",
            )
            .at(text.at);
            finding.layer = Some(layer.clone());
            finding.line = Some(text.line);
            finding.entities = super::handles([text.handle]);
            finding
        });
    }
}
