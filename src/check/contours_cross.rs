use super::{Check, Sink, Stage, Subject};
use crate::contour::{ContactCounts, SideFrom};
use crate::finding::{Finding, Severity};
use crate::id::ContourId;
use crate::job::Purpose;

/// Two contours that pass through each other.
pub(super) const CHECK: Check = Check {
    name: "contours-cross",
    title: "contours cross",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Contours to be cut that pass through each other.",
    why: "Each would cut into the material that the other keeps.",
    what_to_do: "Trim them into one contour, or give one of them another use.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    // Where it is asked what one of them is for, that is enough; what an answer takes out of the cut crosses nothing.
    let is_cut = |id: ContourId| {
        let contour = subject.contours.get(id);
        contour
            .is_some_and(|contour| contour.side_from != SideFrom::Unclear && contour.purpose == Purpose::Cut)
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
    let counts = subject.contours.facts.contacts;
    if !counts.are_listed() {
        sink.push(|| {
            let message = unlisted_in_words(counts);
            Finding::new(
                CHECK.name,
                CHECK.severity,
                message,
                "mend those listed, then check again",
            )
        });
    }
}

/// Says how many contacts there are where not all are listed.
fn unlisted_in_words(counts: ContactCounts) -> String {
    let [crossings, touches, overlaps] = [
        (counts.crossings, "crossing"),
        (counts.touches, "touch"),
        (counts.overlaps, "overlap"),
    ]
    .map(|(count, noun)| match (count, noun) {
        (1, noun) => format!("1 {noun}"),
        (count, "touch") => format!("{count} touches"),
        (count, noun) => format!("{count} {noun}s"),
    });
    if counts.cut_off {
        format!(
            "there are more than {crossings}, {touches} and {overlaps}: the search for them was cut off, and neither which contour lies in \
             which nor slots and walls were looked at"
        )
    } else {
        let unmeasured = if counts.leave_widths() {
            ""
        } else {
            "; slots and walls were not measured"
        };
        format!(
            "there are {crossings}, {touches} and {overlaps}, of each of which the first 10 000 are placed{unmeasured}"
        )
    }
}
