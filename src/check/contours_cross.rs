use super::{Check, Sink, Stage, Subject};
use crate::contour::SideFrom;
use crate::finding::{Finding, Severity};
use crate::id::ContourId;
use crate::job::Purpose;

/// Two contours that pass through each other.
pub(super) const CHECK: Check = Check {
    name: "contours-cross",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Contours to be cut that pass through each other.",
    why: "Each would cut into the material that the other keeps.",
    what_to_do: "Trim them into one contour, or give one of them another use.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    // Where it is asked what one of them is for, that is enough; what an answer takes out of the cut crosses nothing.
    let is_cut = |id: ContourId| {
        let contour = subject.contours.get(id);
        contour.is_some_and(|contour| contour.side_from != SideFrom::Unclear && contour.purpose == Purpose::Cut)
    };
    for contact in &subject.contours.facts.crossings {
        if !is_cut(contact.contours.0) || !is_cut(contact.contours.1) {
            continue;
        }
        sink.push(|| {
            let message = format!(
                "contours {} and {} pass through each other here",
                contact.contours.0, contact.contours.1
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy());
            subject
                .about_curves(
                    finding.on_contour(contact.contours.0),
                    &[contact.curves.0, contact.curves.1],
                )
                .at(contact.at)
        });
    }
    if subject.contours.facts.contacts_unfinished {
        sink.push(|| {
            let message =
                "there are so many crossings, touches and overlaps that the search for them was cut off";
            Finding::new(
                CHECK.name,
                CHECK.severity,
                message.to_owned(),
                "mend those listed, then check again",
            )
        });
    }
}
