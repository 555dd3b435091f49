use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Mend, Quantity, Severity};
use crate::message::{message, mm2, um_of_mm};
use crate::toolpath::UnreachedKind;

/// Openings and slots too narrow for the wire.
pub(super) const CHECK: Check = Check {
    name: "slot-vanishes",
    title: "no room for the wire",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Openings with no room for the wire at all, and slots and pockets of a contour that it cannot enter.",
    why: "They are on the drawing, but this wire does not cut them.",
    what_to_do: "Widen them, take a finer wire, or make them by other means.",
    options: "",
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
            let message = message!(
                "there is no room for the wire in pass {}: the contour is {} wide at most, the wire needs {}",
                gone.pass,
                um_of_mm(width).fixed(1),
                um_of_mm(needed).fixed(1)
            );
            Finding::new(
                CHECK.name,
                CHECK.severity,
                message,
                "widen it, or take a finer wire",
            )
            .mended_by(vec![Mend::FinerWire])
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
            let message = message!(
                "the wire does not enter this slot: {} and up to {} of it stay uncut",
                mm2(place.area_mm2).fixed(4),
                um_of_mm(place.deviation_mm).fixed(1)
            );
            Finding::new(
                CHECK.name,
                CHECK.severity,
                message,
                "widen it, or take a finer wire",
            )
            .mended_by(vec![Mend::FinerWire])
            .at(place.at)
            .on_contour(place.contour)
            .measured(Quantity::um_of_mm(place.deviation_mm))
        });
    }
}
