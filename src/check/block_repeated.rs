use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// A block that is defined twice.
pub(super) const CHECK: Check = Check {
    name: "block-repeated",
    title: "block repeated",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Two blocks of one name.",
    why: "INSERTs of that name may mean either. The first was taken.",
    what_to_do: "Have the drawing saved again; compare the inserted shapes with the print.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::BlockRepeated(name) => {
            Some(format!("block “{name}” is defined twice; the first was taken"))
        }
        _ => None,
    });
}
