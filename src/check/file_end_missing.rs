use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// The file stops without saying that it is whole.
pub(super) const CHECK: Check = Check {
    name: "file-end-missing",
    title: "end of the file missing",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "A file without the EOF mark that ends every DXF file.",
    why: "It may have been cut short, and whole entities may be missing.",
    what_to_do: "Have the drawing sent again; compare the number of contours with the print.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::NoEof => {
            Some("the file ends without its EOF mark; it may have been cut short".to_owned())
        }
        _ => None,
    });
}
