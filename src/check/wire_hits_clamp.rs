use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};

/// Wire under the clamps.
pub(super) const CHECK: Check = Check {
    name: "wire-hits-clamp",
    title: "wire hits a clamp",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Ways of the wire through the strip of the blank that the clamps take, where the clamped side is named.",
    why: "The nozzles run into the clamps, and the wire cuts what holds the work.",
    what_to_do: "Clamp another side, reach less far in, or move the contours on the blank.",
    options: "`--clamp`, or `--clamp-depth`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    let Some(zone) = process.blank.as_ref().and_then(|blank| blank.clamp) else {
        return;
    };
    for fault in &process.blank_faults.clamped {
        sink.push(|| {
            let message = message!(
                "the kerf runs {} under the clamps, which reach {} in from the {}",
                mm(fault.found_mm).fixed(3),
                mm(zone.depth_mm),
                zone.side.word()
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .at(fault.at)
                .on_contour(fault.contour)
                .measured(Quantity::mm(fault.found_mm))
                .limit(Quantity::mm(0.0))
        });
    }
}
