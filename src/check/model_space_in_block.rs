use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// Model space kept in its block.
pub(super) const CHECK: Check = Check {
    name: "model-space-in-block",
    title: "drawing inside a block",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Entities inside the block of model space instead of the ENTITIES section.",
    why: "It is unusual, and programs differ on whether they belong to the drawing.",
    what_to_do: "Compare the picture with the print.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::ModelSpaceBlock { entities, taken: true } => Some(format!(
            "the block of model space holds {}, and the ENTITIES section nothing; the block was taken as the drawing",
            entity_count(*entities)
        )),
        NoticeKind::ModelSpaceBlock { entities, taken: false } => Some(format!(
            "the block of model space holds {} beside what the ENTITIES section holds; the block was left out",
            entity_count(*entities)
        )),
        _ => None,
    });
}

fn entity_count(count: usize) -> String {
    if count == 1 {
        "1 entity".to_owned()
    } else {
        format!("{count} entities")
    }
}
