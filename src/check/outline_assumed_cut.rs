use std::collections::BTreeSet;

use super::{Check, Sink, Stage, Subject};
use crate::contour::PurposeFrom;
use crate::finding::{Finding, Mend, MendedName, Quantity, Severity};
use crate::id::ContourId;
use crate::message::{message, mm};

/// An outline that may be there already.
pub(super) const CHECK: Check = Check {
    name: "outline-assumed-cut",
    title: "outline assumed to be cut",
    stage: Stage::Contour,
    severity: Severity::Note,
    looks_for: "Outer contours that enclose openings, taken to be cut because nothing is given for them.",
    why: "Often the outline of a die plate is machined before: its length then does not belong into the time and the price.",
    what_to_do: "If it is there already, give it as machined already.",
    options: "`--contour N=existing`, or `--layer NAME=existing`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let around: BTreeSet<ContourId> = subject.loops_to_cut().filter_map(|inner| inner.parent).collect();
    for contour in subject.loops_to_cut() {
        let encloses = around.contains(&contour.id);
        if contour.purpose_from != PurposeFrom::Assumed || contour.depth > 0 || !encloses {
            continue;
        }
        sink.push(|| {
            let message = message!(
                "contour {} around the openings is taken to be cut, {} long",
                contour.id,
                mm(contour.perimeter_mm).fixed(4)
            );
            let remedy = "if it is machined already, give it as such";
            let finding = Finding::new(CHECK.name, CHECK.severity, message, remedy)
                .mended_by(vec![Mend::Purpose(
                    MendedName::Contour(contour.id.to_string()),
                    "existing",
                )])
                .on_contour(contour.id)
                .measured(Quantity::mm(contour.perimeter_mm));
            subject
                .about_curves(finding, &contour.curves)
                .at(contour.bounds.min)
        });
    }
}
