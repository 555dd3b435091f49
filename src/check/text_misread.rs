use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// Letters that may be wrong.
pub(super) const CHECK: Check = Check {
    name: "text-misread",
    title: "text read with a doubt",
    stage: Stage::Drawing,
    severity: Severity::Note,
    looks_for: "Code pages that are not known, and text that is not valid in the code page of the file.",
    why: "Layer names and notes may hold wrong letters; choosing by layer name may then miss a layer. The geometry is not touched.",
    what_to_do: "Choose layers by the names as they are printed here.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::CodePageUnknown(page) => {
            Some(format!("code page “{page}” is not known; Windows-1252 was used"))
        }
        NoticeKind::TextUndecodable => Some("a text here is not valid in the file's code page".to_owned()),
        _ => None,
    });
}
