use super::{Check, Sink, Stage, Subject, counted};
use crate::contour::SideFrom;
use crate::finding::{Finding, Quantity, Severity};
use crate::job::Purpose;
use crate::question::FrameSign;

/// A frame taken for an edge.
pub(super) const CHECK: Check = Check {
    name: "frame-around-drawing",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "A rectangle that encloses all other contours to be cut and looks like the frame of a sheet.",
    why: "Taken for the part, it turns every side round: holes become parts and parts become holes.",
    what_to_do: "Leave its layer out with `--ignore-layers`, or its contour with `--contour N=ignore`.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for frame in &subject.questions.frames {
        // Where it is asked for, that is enough.
        let contour = subject.contours.get(frame.contour);
        let Some(contour) = contour.filter(|c| c.purpose == Purpose::Cut && c.side_from != SideFrom::Unclear)
        else {
            continue;
        };
        sink.push(|| {
            let sign = match frame.sign {
                FrameSign::Name => "the name of its layer or linetype says so",
                FrameSign::SheetSize => "it has the size of a drawing sheet",
                FrameSign::SheetRatio => "it has the proportions of a drawing sheet, with texts in it",
                FrameSign::DoubleBorder => "it is one of two borders, one inside the other",
                FrameSign::PartsWithin => {
                    "it stands alone on its layer and encloses parts with openings of their own"
                }
            };
            let message = format!(
                "contour {} looks like a frame: {sign}; it encloses {} to be cut",
                frame.contour,
                counted(frame.enclosed, "contour")
            );
            let remedy = format!(
                "leave it out with `--contour {}=ignore`, or by its layer",
                frame.contour
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, remedy)
                .on_contour(frame.contour)
                .measured(Quantity::count(frame.enclosed));
            subject
                .about_curves(finding, &contour.curves)
                .at(contour.bounds.min)
        });
    }
}
