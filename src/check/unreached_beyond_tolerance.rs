use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Mend, Quantity, Severity};
use crate::message::{message, mm2, um_of_mm};
use crate::toolpath::{Unreached, UnreachedKind};

/// Inside corners that stay rounder than drawn.
pub(super) const CHECK: Check = Check {
    name: "unreached-beyond-tolerance",
    title: "corner not reached",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Sharp inside corners, and inside radii below the offset of the last pass, where material is left. An error \
                where it is more than the tolerance called for, a note where none is.",
    why: "A round wire leaves a round corner: the part differs from the drawing there by the amount given.",
    what_to_do: "Allow a radius of the last offset in inside corners, draw a relief, or take a finer wire.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(toolpaths) = subject.toolpaths else {
        return;
    };
    let corner = |place: &&Unreached| {
        matches!(
            place.kind,
            UnreachedKind::SharpCorner | UnreachedKind::SmallRadius
        )
    };
    // The worst first: they are the ones placed one by one.
    let mut corners: Vec<&Unreached> = toolpaths.unreached.iter().filter(corner).collect();
    corners.sort_by(|a, b| b.deviation_mm.total_cmp(&a.deviation_mm));
    for place in corners {
        let severity = match place.tolerance_mm {
            Some(tolerance) if place.deviation_mm <= tolerance => continue,
            Some(_) => Severity::Error,
            None => Severity::Note,
        };
        sink.push(|| finding(place, severity));
    }
}

fn finding(place: &Unreached, severity: Severity) -> Finding {
    let what = match place.kind {
        UnreachedKind::SmallRadius => "the wire does not follow this inside radius",
        _ => "the wire does not reach into this inside corner",
    };
    let against = place
        .tolerance_mm
        .map(|t| message!("; ±{} is called for", um_of_mm(t).fixed(1)));
    let message = message!(
        "{}: the wall stays up to {} off the drawing ({} left){}",
        what,
        um_of_mm(place.deviation_mm).fixed(1),
        mm2(place.area_mm2).fixed(4),
        against
    );
    let finding = Finding::new(
        CHECK.name,
        severity,
        message,
        "allow the radius, draw a relief, or take a finer wire",
    )
    .mended_by(vec![Mend::FinerWire])
    .at(place.at)
    .on_contour(place.contour)
    .measured(Quantity::um_of_mm(place.deviation_mm));
    match place.tolerance_mm {
        Some(tolerance) => finding.limit(Quantity::um_of_mm(tolerance)),
        None => finding,
    }
}
