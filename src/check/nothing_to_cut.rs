use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};

/// No contour to cut.
pub(super) const CHECK: Check = Check {
    name: "nothing-to-cut",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Drawings without a closed contour to be cut.",
    why: "There is nothing to plan or to price.",
    what_to_do: "Look at what was left out and why; say with `--layer NAME=cut` what is to be cut.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    if subject.loops_to_cut().next().is_some() {
        return;
    }
    sink.push(|| {
        let open = subject.contours.list.len();
        let message = format!(
            "there is no closed contour to cut; {} and {} of other kinds were read",
            counted(subject.drawing.curves.len(), "curve"),
            counted(open, "contour")
        );
        Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
    });
}

fn counted(count: usize, noun: &str) -> String {
    if count == 1 {
        format!("1 {noun}")
    } else {
        format!("{count} {noun}s")
    }
}
