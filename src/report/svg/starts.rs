//! Start holes, the ways of the wire onto its paths and from start to start, and the order of cutting on the part.

use std::fmt::Write as _;

use svg::node::element::Group;

use super::detail::Detail;
use super::labels::Labels;
use super::sheet::{
    Area, Lettering, SheetSpot, arrow_head, coordinate, group, line, path, rectangle, spot, title,
};
use super::signs::{LABELLED, MOST_LABELS, dot};
use super::view::View;
use crate::geometry::Bounds;
use crate::message::number::{fixed, short};
use crate::plan::Plan;
use crate::process::{OperationKind, Start};
use crate::report::steps;

/// Starts up to which the way from one to the next is drawn.
const MOST_TRAVEL: usize = 2000;

/// Returns the starts in the order in which the wire is first threaded there.
fn in_order(plan: &Plan) -> Vec<&Start> {
    let starts = &plan.process.starts;
    let mut seen = vec![false; starts.list.len()];
    let threads = plan
        .process
        .operations
        .iter()
        .filter(|a| a.kind == OperationKind::Thread);
    let of = threads.map(|operation| starts.of_loop[operation.wire_loop.index()]);
    of.filter(|&i| !std::mem::replace(&mut seen[i], true))
        .map(|i| &starts.list[i])
        .collect()
}

/// Bounds of each hole with its lead.
pub(super) fn bounds(plan: &Plan) -> impl Iterator<Item = Bounds> {
    plan.process.starts.list.iter().map(|start| {
        let hole = Bounds::of([start.at]).grown(0.5 * start.hole_mm.unwrap_or_default());
        hole.union(plan.process.leads[start.wire_loop.index()].lead_in.bounds())
    })
}

/// Holes, the leads of the first pass, and an arrow where each path is entered.
pub(super) fn starts(plan: &Plan, view: &View, detail: Detail) -> Group {
    let mut drawn = group("starts");
    if !detail.is_all() {
        return drawn;
    }
    for start in &plan.process.starts.list {
        let run = &plan.process.leads[start.wire_loop.index()];
        let hole = start.hole_mm.map_or_else(
            || "no hole".to_owned(),
            |mm| format!("hole Ø {} mm", fixed(mm, 2)),
        );
        let hover = format!(
            "start of contour {}, {}: {hole}, lead-in {} mm",
            start.contour,
            steps::origin(start.origin),
            fixed(run.lead_in.length(), 2)
        );
        let radius = start.hole_mm.map_or(0.0, |mm| 0.5 * mm * view.scale);
        drawn = drawn
            .add(dot("start-hole", view.place(start.at), radius.max(0.25)).add(title(&hover)))
            .add(path("lead", view.data(&run.lead_in), None));
    }
    drawn.add(arrows(plan, view))
}

/// Draws an arrow where each first pass is entered, the way it runs.
fn arrows(plan: &Plan, view: &View) -> Group {
    let (shortest, longest) = (1.2, 3.2);
    let mut drawn = Group::new();
    let starts = plan.process.starts.list.iter();
    let large = starts.filter(|start| on_sheet_mm(plan, start, view) >= LABELLED);
    for start in large.take(MOST_LABELS) {
        let path = &plan.toolpaths[start.wire_loop].polyline;
        let bounds = path.bounds();
        let length = (0.2 * bounds.width().min(bounds.height()) * view.scale).clamp(shortest, longest);
        let (entry, along) = start.entry();
        // The arrow head stands on the line just after the entry.
        let foot = view.place(entry);
        let tip = spot(foot.x + along.x * length, foot.y - along.y * length);
        drawn = drawn.add(arrow_head("start", tip, (along.x, -along.y), length));
    }
    drawn
}

/// Larger side of the path that starts there, on the sheet.
fn on_sheet_mm(plan: &Plan, start: &Start, view: &View) -> f64 {
    let bounds = plan.toolpaths[start.wire_loop].polyline.bounds();
    bounds.width().max(bounds.height()) * view.scale
}

/// Draws the way from start to start.
pub(super) fn travel(plan: &Plan, view: &View) -> Group {
    let drawn = group("travel");
    let starts = in_order(plan);
    if starts.len() < 2 || starts.len() > MOST_TRAVEL {
        return drawn;
    }
    let mut data = String::new();
    for (i, start) in starts.iter().enumerate() {
        let at = view.place(start.at);
        let letter = if i == 0 { 'M' } else { 'L' };
        let _ = write!(data, "{letter}{} {}", coordinate(at.x), coordinate(at.y));
    }
    let hover = format!(
        "from start to start in the order of cutting; {}",
        steps::summary(plan)
    );
    drawn.add(path("travel", data, Some(hover)))
}

/// Draws the number of each start in the order of cutting, in a frame; of very many each second, fifth or tenth. Where there is
/// no room for all, the first and the last are marked first.
pub(super) fn numbers(plan: &Plan, view: &View, labels: &mut Labels) -> Group {
    const SIZE: f64 = 2.0;
    let mut drawn = group("order-of-cutting");
    let starts = in_order(plan);
    let step = step(starts.len());
    let mut list: Vec<(usize, &&Start)> = (1..).zip(&starts).collect();
    if let Some(last) = list.pop() {
        list.insert(1.min(list.len()), last);
    }
    let marked = |number: usize| number == 1 || number == starts.len() || number.is_multiple_of(step);
    for (number, start) in list.into_iter().filter(|(number, _)| marked(*number)) {
        let words = number.to_string();
        let (width, height) = (super::text::width(&words, SIZE) + 1.0, SIZE + 0.8);
        let at = view.place(start.at);
        let Some(center) = labels.first_free(width + 0.4, height + 0.4, alternatives(at)) else {
            continue;
        };
        let frame = Area::new(center.x - 0.5 * width, center.y - 0.5 * height, width, height);
        let hover = format!(
            "cut as number {number}: contour {}, from x {} y {} mm",
            start.contour,
            short(start.at.x, 3),
            short(start.at.y, 3)
        );
        drawn = drawn.add(
            Group::new()
                .add(title(&hover))
                .add(line("order-leader", at, center))
                .add(rectangle("order-frame", frame))
                .add(Lettering::middle("order", SIZE).write_level(center, 2.0 * width, &words)),
        );
    }
    drawn
}

/// The numbers of `count` starts are marked in steps of this: 1, 2, 5, 10, 20 and so on.
fn step(count: usize) -> usize {
    let mut steps = (0..).flat_map(|power| [1, 2, 5].map(|first| first * 10usize.pow(power)));
    steps.find(|step| count / step <= MOST_LABELS).unwrap_or(count)
}

/// Places round a start, near ones first.
fn alternatives(at: SheetSpot) -> impl Iterator<Item = SheetSpot> {
    const DISTANCES: [f64; 4] = [2.6, 3.6, 5.0, 7.0];
    const DIRECTIONS: u32 = 8;
    DISTANCES.into_iter().flat_map(move |distance| {
        (0..DIRECTIONS).map(move |i| {
            let angle = f64::from(i) * std::f64::consts::TAU / f64::from(DIRECTIONS) + 0.4;
            spot(at.x + distance * angle.cos(), at.y + distance * angle.sin())
        })
    })
}
