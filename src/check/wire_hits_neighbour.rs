use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, um_of_mm};
use crate::toolpath::NeighbourHit;

/// Wire runs that cut into what another contour keeps.
pub(super) const CHECK: Check = Check {
    name: "wire-hits-neighbour",
    title: "wire hits a neighbour",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Wire runs, as wide as wire and spark gap, that reach across another contour.",
    why: "The cut for one contour damages the other.",
    what_to_do: "Move the contours apart, take a finer wire, or cut them in separate pieces of material.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(toolpaths) = subject.toolpaths else {
        return;
    };
    let known = subject.known_crossings();
    let across = |hit: &NeighbourHit| (hit.contour.min(hit.neighbour), hit.contour.max(hit.neighbour));
    for hit in toolpaths.hits.iter().filter(|hit| !known.contains(&across(hit))) {
        sink.push(|| {
            let message = message!(
                "pass {} round contour {} cuts {} across contour {}",
                hit.pass,
                hit.contour,
                um_of_mm(hit.overlap_mm).fixed(1),
                hit.neighbour
            );
            Finding::new(
                CHECK.name,
                CHECK.severity,
                message,
                "move the contours apart, or take a finer wire",
            )
            .at(hit.at)
            .on_contour(hit.contour)
            .measured(Quantity::um_of_mm(hit.overlap_mm))
            .limit(Quantity::um_of_mm(0.0))
        });
    }
}
