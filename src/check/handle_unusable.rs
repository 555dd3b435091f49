use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// Handles that do not single out an entity.
pub(super) const CHECK: Check = Check {
    name: "handle-unusable",
    title: "entity name unusable",
    stage: Stage::Drawing,
    severity: Severity::Note,
    looks_for: "Handles that stand twice in the file, or are not hexadecimal.",
    why: "Findings name entities by handle; these point to several, or to none. The geometry is not touched.",
    what_to_do: "Nothing; go by line and place instead.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::HandleRepeated => Some("this handle stands on another entity too".to_owned()),
        NoticeKind::HandleUnreadable => {
            Some("the handle of this entity is not hexadecimal; it goes without".to_owned())
        }
        _ => None,
    });
}
