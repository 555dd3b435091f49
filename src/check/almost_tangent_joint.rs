use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::tolerance::SMOOTH_JOINT_RAD;

/// A joint that is almost tangent.
pub(super) const CHECK: Check = Check {
    name: "almost-tangent-joint",
    title: "joint almost tangent",
    stage: Stage::Contour,
    severity: Severity::Note,
    looks_for: "Joints of contours to be cut that turn by a fraction of a degree: neither smooth nor a corner.",
    why: "A fillet that does not quite run out tangent leaves a line on the wall that can be seen and felt.",
    what_to_do: "Make the joint tangent in the drawing, if it has to be smooth.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for kink in &subject.contours.facts.kinks {
        sink.push(|| {
            let message = format!(
                "the contour turns by {:.3}° here: almost tangent (limit {:.3}°)",
                kink.angle_rad.to_degrees(),
                SMOOTH_JOINT_RAD.to_degrees()
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .on_contour(kink.contour)
                .measured(Quantity::degrees_of_rad(kink.angle_rad))
                .limit(Quantity::degrees_of_rad(SMOOTH_JOINT_RAD));
            subject.about_curves(finding, &[kink.curve]).at(kink.at)
        });
    }
}
