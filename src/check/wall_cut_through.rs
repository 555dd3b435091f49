use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, um_of_mm};
use crate::toolpath::WallCut;

/// Walls between two contours of which nothing is left.
pub(super) const CHECK: Check = Check {
    name: "wall-cut-through",
    title: "wall cut through",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Walls between two openings, or between an opening and the outside, of which the last passes leave nothing.",
    why: "The two cuts run into one another: the wall is gone, and a piece may come loose before it is secured.",
    what_to_do: "Move the contours apart, or aim less far into the material.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(toolpaths) = subject.toolpaths else {
        return;
    };
    let known = subject.known_crossings();
    let across = |wall: &WallCut| (wall.contour.min(wall.neighbour), wall.contour.max(wall.neighbour));
    for wall in toolpaths
        .walls_cut
        .iter()
        .filter(|wall| !known.contains(&across(wall)))
    {
        sink.push(|| {
            let message = message!(
                "nothing is left of the wall between contours {} and {}: it is {} thick as drawn",
                wall.contour,
                wall.neighbour,
                um_of_mm(wall.wall_mm).fixed(1)
            );
            Finding::new(CHECK.name, CHECK.severity, message, "move the contours apart")
                .at(wall.at)
                .on_contour(wall.contour)
                .measured(Quantity::um_of_mm(wall.left_mm))
                .limit(Quantity::um_of_mm(0.0))
        });
    }
}
