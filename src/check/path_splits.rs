use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, um_of_mm};
use crate::toolpath::Split;

/// Passes that fall apart into several loops.
pub(super) const CHECK: Check = Check {
    name: "path-splits",
    title: "path splits",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Contours whose path falls apart into several loops, because a neck is narrower than the wire needs.",
    why: "The wire does not pass the neck: each region needs a start hole and a thread of its own, and the neck is not cut.",
    what_to_do: "Widen the neck, take a finer wire, or give each region its start hole.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(toolpaths) = subject.toolpaths else {
        return;
    };
    // One finding a contour: the pass that needs most room splits first and most.
    for (i, split) in toolpaths.splits.iter().enumerate() {
        if toolpaths.splits[..i]
            .iter()
            .any(|other| other.contour == split.contour)
        {
            continue;
        }
        let also: Vec<&Split> = toolpaths.splits[i..]
            .iter()
            .filter(|s| s.contour == split.contour)
            .collect();
        let passes: Vec<String> = also.iter().map(|s| s.pass.to_string()).collect();
        sink.push(|| finding(split, &passes.join(", ")));
    }
}

fn finding(split: &Split, passes: &str) -> Finding {
    let loops = split.loops;
    let narrowest = split
        .necks
        .iter()
        .min_by(|a, b| a.width_mm.total_cmp(&b.width_mm));
    let words = if passes.contains(',') { "passes" } else { "pass" };
    let Some(neck) = narrowest else {
        let message = format!("the path falls apart into {loops} loops in {words} {passes}");
        return Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy()).on_contour(split.contour);
    };
    let message = message!(
        "the path falls apart into {} loops in {} {}: a neck is {} wide, the wire needs {}",
        loops,
        words,
        passes,
        um_of_mm(neck.width_mm).fixed(1),
        um_of_mm(neck.required_clearance_mm).fixed(1)
    );
    Finding::new(
        CHECK.name,
        CHECK.severity,
        message,
        "widen the neck, or give each region its own start hole",
    )
    .at(neck.at)
    .on_contour(split.contour)
    .measured(Quantity::um_of_mm(neck.width_mm))
    .limit(Quantity::um_of_mm(neck.required_clearance_mm))
}
