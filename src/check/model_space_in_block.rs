use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// Model space kept in its block.
pub(super) const CHECK: Check = Check {
    name: "model-space-in-block",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Entities inside the block of model space instead of the ENTITIES section.",
    why: "It is unusual, and programs differ on whether they belong to the drawing.",
    what_to_do: "Compare the picture with the print.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::ModelSpaceBlock { entities, taken: true } => Some(format!(
            "the block of model space holds {entities} entities, and the ENTITIES section none; they were taken as the drawing"
        )),
        NoticeKind::ModelSpaceBlock { entities, taken: false } => Some(format!(
            "the block of model space holds {entities} entities beside those of the ENTITIES section; they were left out"
        )),
        _ => None,
    });
}
