use super::{Check, Sink, Stage, Subject, counted};
use crate::contour::FrameSign;
use crate::finding::{Finding, Quantity, Severity};

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
    for frame in &subject.contours.facts.frames {
        let Some(contour) = subject.contours.get(frame.contour) else {
            continue;
        };
        sink.push(|| {
            let sign = match frame.sign {
                FrameSign::LayerName => "its layer's name says so",
                FrameSign::SheetSize => "it has the size of a drawing sheet",
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
