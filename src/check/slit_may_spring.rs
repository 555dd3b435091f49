use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::job::Purpose;
use crate::message::{message, mm};

/// Slits that open a part.
pub(super) const CHECK: Check = Check {
    name: "slit-may-spring",
    title: "part may spring at a slit",
    stage: Stage::Path,
    severity: Severity::Note,
    looks_for: "Slits: each opens the part that it is cut into.",
    why: "Stress that was held in the material closes the kerf or opens it: the slit is not as wide as it was cut, walls beside it \
          move, and the wire can be pinched in the kerf (common practice, no source).",
    what_to_do: "Cut the slits last, as the order of cutting has it; keep the part clamped on both sides of the kerf until the wire is \
                 out of it, and gauge it afterwards.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let loops = subject
        .toolpaths
        .into_iter()
        .flat_map(|toolpaths| &toolpaths.loops);
    let slits =
        loops.filter(|wire| wire.pass.is_rough() && subject.contours[wire.contour].purpose == Purpose::Slit);
    for (wire, cut) in slits.filter_map(|wire| Some((wire, wire.open.as_ref()?))) {
        let met_mm = cut.band.as_ref().map_or(cut.met_mm, |band| band.met_mm);
        sink.push(|| {
            let message = message!(
                "the part may spring when {} of it are slit: its other contours come before",
                mm(met_mm).fixed(3)
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy());
            let at = wire.polyline.vertices.first().map(|v| v.at);
            let finding = finding.on_contour(wire.contour).measured(Quantity::mm(met_mm));
            match at {
                Some(at) => finding.at(at),
                None => finding,
            }
        });
    }
}
