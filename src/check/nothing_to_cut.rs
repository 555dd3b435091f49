use super::{Check, Sink, Stage, Subject, counted};
use crate::finding::{Finding, Severity};

/// No contour to cut.
pub(super) const CHECK: Check = Check {
    name: "nothing-to-cut",
    title: "nothing to cut",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Drawings without a closed contour to be cut.",
    why: "There is nothing to plan or to price.",
    what_to_do: "Look at what was left out and why, and name the layer that is to be cut.",
    options: "`--layer NAME=cut`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let mut open_cuts = subject
        .contours
        .list
        .iter()
        .filter(|contour| contour.purpose.is_open_cut());
    if subject.loops_to_cut().next().is_some() || open_cuts.next().is_some() {
        return;
    }
    sink.push(|| {
        let curves = subject.drawing.curves.len();
        let message = format!(
            "there is no closed contour to cut: {} {} read, and {} that {} open or not to be cut",
            counted(curves, "curve"),
            if curves == 1 { "was" } else { "were" },
            counted(subject.contours.list.len(), "contour"),
            if subject.contours.list.len() == 1 {
                "is"
            } else {
                "are"
            }
        );
        Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
    });
}
