use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// A block that stands in another file.
pub(super) const CHECK: Check = Check {
    name: "external-reference",
    title: "drawing refers to another file",
    stage: Stage::Drawing,
    severity: Severity::Error,
    looks_for: "Blocks that refer to another drawing file.",
    why: "What the other file draws is missing here.",
    what_to_do: "Have the drawing saved with its external references bound.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::BlockElsewhere(name) => Some(format!(
            "block “{name}” stands in another file; what it draws is missing here"
        )),
        _ => None,
    });
}
