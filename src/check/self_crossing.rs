use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};

/// A contour that passes through itself.
pub(super) const CHECK: Check = Check {
    name: "self-crossing",
    title: "self crossing",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Contours to be cut that pass through themselves.",
    why: "Inside and outside change places at the crossing: part of the wall would be cut from the wrong side.",
    what_to_do: "Trim the curves at the crossing.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for contact in &subject.contours.facts.self_crossings {
        sink.push(|| {
            let message = "the contour passes through itself here".to_owned();
            let finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy());
            subject
                .about_curves(
                    finding.on_contour(contact.contours.0),
                    &[contact.curves.0, contact.curves.1],
                )
                .at(contact.at)
        });
    }
}
