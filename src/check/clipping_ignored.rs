use super::{Check, Sink, Stage, Subject};
use crate::dxf::document::NoticeKind;
use crate::finding::Severity;

/// Blocks clipped by a boundary, which were read whole.
pub(super) const CHECK: Check = Check {
    name: "clipping-ignored",
    title: "clipping left aside",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Placed blocks that show only what lies within a clipping boundary (SPATIAL_FILTER).",
    why: "They are read whole, so that curves are measured and cut that the drawing hides.",
    what_to_do: "Explode and trim the clipped block in the drawing, or leave its layer out.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_notices(&CHECK, sink, |notice| match notice {
        NoticeKind::ClippingIgnored(count) => Some(format!(
            "{count} placed {} clipped by a boundary in the drawing, and read whole here",
            if *count == 1 { "block is" } else { "blocks are" }
        )),
        _ => None,
    });
}
