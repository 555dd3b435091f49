use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};

/// A wall that may not stand.
pub(super) const CHECK: Check = Check {
    name: "thin-wall",
    title: "thin wall",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "Walls of kept material, also up to edges that are not cut, thinner than the kerf of the usual wire (common practice, no source).",
    why: "A thin wall heats up, bends and vibrates while its second side is cut, and may be lost.",
    what_to_do: "Ask whether the wall may be thicker; else plan for support and gentle passes.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(usual) = subject.usual_wire() else { return };
    for place in &subject.contours.facts.thin_walls {
        if place.width_mm >= usual.kerf_mm {
            continue;
        }
        sink.push(|| {
            let (one, other) = place.contours;
            let between = if one == other {
                format!("of contour {one}")
            } else {
                format!("between contours {one} and {other}")
            };
            let message = message!(
                "a wall {} thick {} (limit {}, the kerf of {} wire)",
                mm(place.width_mm).fixed(4),
                between,
                mm(usual.kerf_mm).fixed(4),
                mm(usual.wire_mm)
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .on_contour(place.contours.0)
                .measured(Quantity::mm(place.width_mm))
                .limit(Quantity::mm(usual.kerf_mm));
            subject
                .about_curves(finding, &[place.curves.0, place.curves.1])
                .at(place.from.midpoint(place.to))
        });
    }
}
