use super::question_words::frame_sign;
use super::{Check, Sink, Stage, Subject, counted};
use crate::contour::{Contour, PurposeFrom, SideFrom};
use crate::finding::{Finding, Mend, MendedName, Quantity, Severity};
use crate::job::Purpose;

/// A frame taken for an edge.
pub(super) const CHECK: Check = Check {
    name: "frame-around-drawing",
    title: "frame around the drawing",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "A rectangle that encloses all other contours to be cut and looks like the frame of a sheet.",
    why: "Read as the part, it swaps inside and outside everywhere: holes become parts and parts become holes.",
    what_to_do: "Leave its layer out, or its contour.",
    options: "`--ignore-layers NAME`, or `--contour N=ignore`",
    run,
};

/// Whether it is cut without a word about it.
fn is_taken_for_granted(contour: &Contour) -> bool {
    let given = contour.purpose_from == PurposeFrom::Contour;
    contour.purpose == Purpose::Cut && contour.side_from != SideFrom::Unclear && !given
}

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for frame in &subject.questions.frames {
        // Where it is asked for, that is enough.
        let contour = subject.contours.get(frame.contour);
        let Some(contour) = contour.filter(|c| is_taken_for_granted(c)) else {
            continue;
        };
        sink.push(|| {
            let sign = frame_sign(frame.sign);
            let message = format!(
                "contour {} looks like a frame: {sign}; it encloses {} to be cut",
                frame.contour,
                counted(frame.enclosed, "contour")
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, "leave it out, or its layer")
                .mended_by(vec![Mend::Purpose(
                    MendedName::Contour(frame.contour.to_string()),
                    "ignore",
                )])
                .on_contour(frame.contour)
                .measured(Quantity::count(frame.enclosed));
            subject
                .about_curves(finding, &contour.curves)
                .at(contour.bounds.min)
        });
    }
}
