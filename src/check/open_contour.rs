use super::{Check, Sink, Stage, Subject};
use crate::contour::{Role, SideFrom};
use crate::finding::{Finding, Quantity, Severity};
use crate::job::Purpose;
use crate::message::{message, mm};
use crate::tolerance::JOIN_MM;

/// A contour to be cut that does not close.
pub(super) const CHECK: Check = Check {
    name: "open-contour",
    title: "open contour",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Runs of curves to be cut, or of an existing outline, whose two ends do not meet.",
    why: "A contour that does not close has no inside: the wire has no side to run on, and nothing is planned for it.",
    what_to_do: "Close it in the drawing, or have the ends joined; if the wire is to run along the line, with material \
                 left on both sides, give it the purpose slit; if one side of it is to be cut off, trim; if it is nothing to be cut, another one.",
    options: "`--join LENGTH`, `--layer NAME=slit`, `--layer NAME=trim`, or `--layer NAME=reference`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for contour in &subject.contours.list {
        // What exists already has to close too: it decides on which side of a wall the material is.
        let bounds = matches!(contour.purpose, Purpose::Cut | Purpose::Existing);
        // Where it is asked for, that is enough.
        if !bounds || contour.role != Role::Open || contour.side_from == SideFrom::Unclear {
            continue;
        }
        let vertices = &contour.polyline.vertices;
        let (Some(first), Some(last)) = (vertices.first(), vertices.last()) else {
            continue;
        };
        let apart_mm = first.at.distance(last.at);
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                message!(
                    "the contour does not close: it ends at x {} y {}, {} from its start",
                    mm(last.at.x).fixed(4).bare(),
                    mm(last.at.y).fixed(4).bare(),
                    mm(apart_mm).fixed(4)
                ),
                CHECK.remedy(),
            );
            subject
                .about_curves(finding.on_contour(contour.id), &contour.curves)
                .at(first.at)
                .measured(Quantity::mm(apart_mm))
                .limit(Quantity::um_of_mm(JOIN_MM))
        });
    }
}
