//! Start holes, the ways of the wire onto its paths and from start to start, and the order of cutting on the part.

use std::fmt::Write as _;

use svg::node::element::Group;

use super::detail::Detail;
use super::labels::Labels;
use super::register::Register;
use super::sheet::{
    Area, Lettering, SMALL, SheetSpot, arrow_head, coordinate, group, line, path, rectangle, spot, title,
};
use super::signs::{LABELLED, MOST_LABELS, dot};
use super::text::BOLD;
use super::view::View;
use crate::elementary::{cos, sin};
use crate::geometry::Bounds;
use crate::message::{Lengths, message, mm};
use crate::plan::Plan;
use crate::process::{OperationKind, Start};
use crate::report::{steps, words};

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
pub(super) fn starts(plan: &Plan, (view, lengths): (&View, Lengths), detail: Detail) -> Group {
    let mut drawn = group("starts");
    if !detail.is_all() {
        return drawn;
    }
    for start in &plan.process.starts.list {
        let run = &plan.process.leads[start.wire_loop.index()];
        let hole = start.hole_mm.map_or_else(
            || message!("no hole"),
            |hole_mm| message!("hole Ø {}", mm(hole_mm).fixed(2)),
        );
        let hover = message!(
            "start of contour {}, {}: {}, lead-in {}",
            start.contour,
            steps::origin(start.origin),
            hole,
            mm(run.lead_in.length()).fixed(2)
        );
        let hover = hover.shown(lengths);
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
        // Of an open cut the arrow goes along it.
        let size_mm = if path.closed {
            bounds.width().min(bounds.height())
        } else {
            path.length()
        };
        let length = (0.2 * size_mm * view.scale).clamp(shortest, longest);
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
pub(super) fn travel(plan: &Plan, view: &View, lengths: Lengths) -> Group {
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
    let hover = message!(
        "from start to start in the order of cutting; {}",
        steps::summary(plan)
    );
    drawn.add(path("travel", data, Some(hover.shown(lengths))))
}

/// Draws the number of each start in the order of cutting, in a frame; of very many each second, fifth or tenth. Where there is
/// no room for all, the first and the last are marked first; those without a place are left to the register.
pub(super) fn numbers<'a>(
    plan: &'a Plan,
    (view, lengths): (&View, Lengths),
    labels: &mut Labels,
    register: &mut Register<'a>,
) -> Group {
    const SIZE: f64 = SMALL;
    let mut drawn = group("order-of-cutting");
    let starts = in_order(plan);
    let step = step(starts.len());
    let mut list: Vec<(usize, &&Start)> = (1..).zip(&starts).collect();
    if let Some(last) = list.pop() {
        list.insert(1.min(list.len()), last);
    }
    let marked = |number: usize| number == 1 || number == starts.len() || number.is_multiple_of(step);
    for (number, start) in list {
        let words = number.to_string();
        let (width, height) = (super::text::width(&words, SIZE) * BOLD + 0.8, SIZE + 0.8);
        let at = view.place(start.at);
        let center = marked(number)
            .then(|| labels.first_free(width + 0.4, height + 0.4, alternatives(at)))
            .flatten();
        let Some(center) = center else {
            register.order.push((number, start.contour));
            continue;
        };
        let frame = Area::new(center.x - 0.5 * width, center.y - 0.5 * height, width, height);
        let hover = message!(
            "cut as number {}: contour {}, from {}",
            number,
            start.contour,
            words::place(start.at, 3)
        );
        drawn = drawn.add(
            Group::new()
                .set("data-label", "order")
                .add(title(&hover.shown(lengths)))
                .add(line("order-leader", at, center))
                .add(rectangle("order-frame", frame))
                .add(Lettering::middle("order", SIZE).write_level(center, 2.0 * width, &words)),
        );
    }
    register.order.sort_unstable_by_key(|(number, _)| *number);
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
            spot(at.x + distance * cos(angle), at.y + distance * sin(angle))
        })
    })
}
