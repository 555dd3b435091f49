use super::{Check, Sink, Stage, Subject};
use crate::elementary::sin;
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{degrees, message, mm, um_of_mm};
use crate::tolerance::SMOOTH_JOINT_RAD;

/// An inside corner that no wire can cut sharp.
pub(super) const CHECK: Check = Check {
    name: "sharp-inside-corner",
    title: "sharp inside corner",
    stage: Stage::Contour,
    severity: Severity::Note,
    looks_for: "Corners without a radius that the wire has to go round on the inside of.",
    why: "A round wire leaves a radius there of half its diameter and the gap; what has to fit into the corner will not.",
    what_to_do: "Ask whether the corner may be relieved or rounded; the plan says how much is left standing.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(thinnest) = subject.wires.first() else {
        return;
    };
    for contour in subject.loops_to_cut() {
        for corner in &contour.sharp_inside_corners {
            sink.push(|| {
                // Between the apex and a circle that touches both walls.
                let radius_mm = thinnest.inside_radius_mm;
                let left_mm = radius_mm / sin(corner.angle_rad / 2.0) - radius_mm;
                // Where they run together without an angle, their bend decides how far the wire comes.
                let cusp = corner.angle_rad < SMOOTH_JOINT_RAD;
                let message = if cusp {
                    message!(
                        "two walls run together in a cusp here: even {} wire does not reach its tip",
                        mm(thinnest.wire_mm)
                    )
                } else {
                    message!(
                        "a sharp inside corner of {}: even {} wire leaves {} before the apex",
                        degrees(corner.angle_rad.to_degrees()).fixed(1),
                        mm(thinnest.wire_mm),
                        um_of_mm(left_mm).fixed(1)
                    )
                };
                let finding =
                    Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy()).on_contour(contour.id);
                let finding = if cusp {
                    finding.measured(Quantity::degrees_of_rad(corner.angle_rad))
                } else {
                    finding.measured(Quantity::um_of_mm(left_mm))
                };
                subject
                    .about_curves(finding, &[contour.curve_of(corner.segment)])
                    .at(corner.at)
            });
        }
    }
}
