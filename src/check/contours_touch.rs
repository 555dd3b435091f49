use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};

/// Two contours that touch.
pub(super) const CHECK: Check = Check {
    name: "contours-touch",
    title: "contours touch",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "Contours to be cut, or two parts of one, that touch without passing through.",
    why: "No material is left between them: the wall there is cut away.",
    what_to_do: "Move them apart, or join them into one contour.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for contact in &subject.contours.facts.touches {
        sink.push(|| {
            let message = match contact.contours {
                (a, b) if a == b => "two parts of the contour touch here".to_owned(),
                (a, b) => format!("contours {a} and {b} touch here"),
            };
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
