use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Mend, Quantity, Severity};
use crate::message::{message, mm};

/// An inside radius that the wire cannot follow.
pub(super) const CHECK: Check = Check {
    name: "inside-radius-small",
    title: "inside radius too small for the wire",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Inside radii below what the wires of the book leave: half the wire and the gap of the last pass.",
    why: "The wire cannot follow a radius smaller than that; the wall keeps a larger one.",
    what_to_do: "Take a finer wire, or ask whether the radius may be larger.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let (Some(thinnest), Some(usual)) = (subject.wires.first(), subject.usual_wire()) else {
        return;
    };
    for contour in subject.loops_to_cut() {
        for (i, arc) in contour.inside_arcs() {
            let radius_mm = arc.radius();
            let (severity, wire) = if radius_mm < thinnest.inside_radius_mm {
                (CHECK.severity, *thinnest)
            } else if radius_mm < usual.inside_radius_mm {
                (Severity::Warning, usual)
            } else {
                continue;
            };
            sink.push(|| {
                let message = message!(
                    "an inside radius of {}: {} wire leaves {} at least",
                    mm(radius_mm).fixed(4),
                    mm(wire.wire_mm),
                    mm(wire.inside_radius_mm).fixed(4)
                );
                let finding = Finding::new(CHECK.name, severity, message, CHECK.remedy())
                    .mended_by(vec![Mend::FinerWire])
                    .on_contour(contour.id)
                    .measured(Quantity::mm(radius_mm))
                    .limit(Quantity::mm(wire.inside_radius_mm));
                subject
                    .about_curves(finding, &[contour.curve_of(i)])
                    .at(arc.at(0.5))
            });
        }
    }
}
