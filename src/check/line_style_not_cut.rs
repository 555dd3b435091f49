use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Mend, MendedName, Quantity, Severity};
use crate::message::{message, mm};

/// Curves left out for their linetype.
pub(super) const CHECK: Check = Check {
    name: "line-style-not-cut",
    title: "centre line or construction line not cut",
    stage: Stage::Contour,
    severity: Severity::Note,
    looks_for: "Curves left out of the cut for their linetype alone: centre, hidden, phantom and dashed lines.",
    why: "By drawing practice (ISO 128) they show no edge to be cut; in this drawing they may.",
    what_to_do: "If they are edges to be cut, name the linetype as one that is cut.",
    options: "`--linetype NAME=cut`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for style in &subject.contours.facts.styles_not_cut {
        sink.push(|| {
            let name = &subject.drawing.linetypes[style.linetype as usize];
            let message = message!(
                "{} not cut, {} in all",
                if style.curves == 1 {
                    format!("1 curve of linetype “{name}” is")
                } else {
                    format!("{} curves of linetype “{name}” are", style.curves)
                },
                mm(style.length_mm).fixed(4)
            );
            let remedy = "if they are edges to be cut, draw them in full lines, or name the linetype as one that is cut";
            let finding = Finding::new(CHECK.name, CHECK.severity, message, remedy)
                .mended_by(vec![Mend::Purpose(MendedName::Linetype(name.clone()), "cut")])
                .measured(Quantity::mm(style.length_mm));
            let finding = subject.about_curves(finding, &[style.first]);
            match subject.drawing.curves[style.first].polyline.vertices.first() {
                Some(vertex) => finding.at(vertex.at),
                None => finding,
            }
        });
    }
}
