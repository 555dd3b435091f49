use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// A count that does not match.
pub(super) const CHECK: Check = Check {
    name: "count-differs",
    title: "count differs from the file's own",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Entities that declare another number of vertices, knots or points than they hold.",
    why: "Something was lost, or written twice, when the file was made. What is there was read.",
    what_to_do: "Compare the curve with the print; have the drawing saved again.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::CountDiffers(what, declared, found) => Some(format!(
            "{what}: {declared} declared, {found} found; those that are there were read"
        )),
        _ => None,
    });
}
