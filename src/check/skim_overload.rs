use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, um_of_mm};
use crate::toolpath::Overload;

/// Skims that meet what the pass before could not reach.
pub(super) const CHECK: Check = Check {
    name: "skim-overload",
    title: "skim stock above plan",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Inside corners and radii that an earlier pass could not follow, so that a skim finds many times its planned stock: more than `overload_limit` under `rule.skim` of the book.",
    why: "A skim is set for a thin, even stock. Where it finds more, it slows, marks the wall or breaks the wire.",
    what_to_do: "Make the inside radius larger than the offset of the rough pass, or slow the skim in these corners.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(toolpaths) = subject.toolpaths else {
        return;
    };
    let limit = subject.rules.skim.overload_limit.value();
    let mut worst: Vec<&Overload> = toolpaths
        .overloads
        .iter()
        .filter(|o| o.met_mm > limit * o.meant_mm)
        .collect();
    worst.sort_by(|a, b| (b.met_mm / b.meant_mm).total_cmp(&(a.met_mm / a.meant_mm)));
    for overload in worst {
        let limit_mm = limit * overload.meant_mm;
        sink.push(|| {
            let message = message!(
                "skim {} (pass {}) takes {} of stock here; planned {}, limit {}",
                overload.pass.index(),
                overload.pass,
                um_of_mm(overload.met_mm).fixed(1),
                um_of_mm(overload.meant_mm).fixed(1),
                um_of_mm(limit_mm).fixed(1)
            );
            Finding::new(
                CHECK.name,
                CHECK.severity,
                message,
                "enlarge the inside radius, or slow the skim here",
            )
            .at(overload.at)
            .on_contour(overload.contour)
            .measured(Quantity::um_of_mm(overload.met_mm))
            .limit(Quantity::um_of_mm(limit_mm))
        });
    }
}
