use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Mend, Quantity, Severity};
use crate::message::{message, mm};
use crate::tolerance::JUST_FITS_MM;

/// A slot that the wire does not fit.
pub(super) const CHECK: Check = Check {
    name: "narrow-slot",
    title: "slot too narrow for the wire",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Places where the walls that the wire runs between are nearer to each other than its kerf.",
    why: "The rough cut does not fit: the slot is passed by, or comes out too wide.",
    what_to_do: "Take a finer wire, or ask whether the slot may be wider.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let (Some(thinnest), Some(usual)) = (subject.wires.first(), subject.usual_wire()) else {
        return;
    };
    for place in &subject.contours.facts.narrow_slots {
        // As wide as the paths need it to enter.
        let room_mm = place.width_mm + 2.0 * JUST_FITS_MM;
        let (severity, wire) = if room_mm < thinnest.kerf_mm {
            (CHECK.severity, *thinnest)
        } else if room_mm < usual.kerf_mm {
            (Severity::Warning, usual)
        } else {
            continue;
        };
        sink.push(|| {
            let message = message!(
                "a slot {} wide: the rough cut of {} wire is {} wide",
                mm(place.width_mm).fixed(4),
                mm(wire.wire_mm),
                mm(wire.kerf_mm).fixed(4)
            );
            let finding = Finding::new(CHECK.name, severity, message, CHECK.remedy())
                .mended_by(vec![Mend::FinerWire])
                .on_contour(place.contours.0)
                .measured(Quantity::mm(place.width_mm))
                .limit(Quantity::mm(wire.kerf_mm));
            subject
                .about_curves(finding, &[place.curves.0, place.curves.1])
                .at(place.from.midpoint(place.to))
        });
    }
}
