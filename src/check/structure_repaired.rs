use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// A file that is not built as it should be.
pub(super) const CHECK: Check = Check {
    name: "structure-repaired",
    title: "structure of the file repaired",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Sections, blocks or polylines without an end mark, sections that are not known, tags between sections.",
    why: "The file was damaged or made by a careless writer; something may be missing where it was mended.",
    what_to_do: "Look at the place named; have the drawing saved again.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::EndMissing(what) => Some(format!(
            "{what} has no end mark; it ends where the next thing begins"
        )),
        NoticeKind::SectionUnknown(name) => {
            Some(format!("section “{name}” is not part of DXF; it was passed over"))
        }
        NoticeKind::TagsOutsideSection => {
            Some("tags stand between two sections; they were passed over".to_owned())
        }
        _ => None,
    });
}
