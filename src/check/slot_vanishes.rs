use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::toolpath::UnreachedKind;
use crate::units::UM_PER_MM;

/// Openings and slots too narrow for the wire.
pub(super) const CHECK: Check = Check {
    name: "slot-vanishes",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Openings with no room for the wire at all, and slots and pockets of a contour that it cannot enter.",
    why: "They are on the drawing, but this wire does not cut them.",
    what_to_do: "Widen them, take a thinner wire, or make them by other means.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(toolpaths) = subject.toolpaths else {
        return;
    };
    for (i, gone) in toolpaths.vanished.iter().enumerate() {
        if toolpaths.vanished[..i]
            .iter()
            .any(|other| other.contour == gone.contour)
        {
            continue;
        }
        let (width, needed) = (gone.neck.width_mm, gone.neck.required_clearance_mm);
        sink.push(|| {
            let message = format!(
                "there is no room for the wire in pass {}: the contour is {:.1} µm wide at most, the wire needs {:.1} µm",
                gone.pass,
                width * UM_PER_MM,
                needed * UM_PER_MM
            );
            Finding::new(CHECK.name, CHECK.severity, message, "widen it, or take a thinner wire")
                .at(gone.neck.at)
                .on_contour(gone.contour)
                .measured(Quantity::um_of_mm(width))
                .limit(Quantity::um_of_mm(needed))
        });
    }
    for place in toolpaths
        .unreached
        .iter()
        .filter(|place| place.kind == UnreachedKind::NarrowSlot)
    {
        sink.push(|| {
            let message = format!(
                "the wire does not enter this slot: {:.4} mm² and up to {:.1} µm of it stay uncut",
                place.area_mm2,
                place.deviation_mm * UM_PER_MM
            );
            Finding::new(
                CHECK.name,
                CHECK.severity,
                message,
                "widen it, or take a thinner wire",
            )
            .at(place.at)
            .on_contour(place.contour)
            .measured(Quantity::um_of_mm(place.deviation_mm))
        });
    }
}
