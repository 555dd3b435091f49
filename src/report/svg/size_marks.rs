//! The picture of an inspection sheet: the part, each size with its number, each point of a measuring machine with its normal.

use std::fmt::Write as _;

use svg::node::element::Group;

use super::labels::{Labels, around};
use super::sheet::{Area, Lettering, SMALL, coordinate, group, line, path, picture, rectangle, spot};
use super::signs::dot;
use super::text::{BOLD, width};
use super::view::View;
use crate::contour::Contour;
use crate::gauge::{GaugedSize, ProbePoint, SizeKind};
use crate::geometry::Bounds;
use crate::message::number::plain;
use crate::plan::{InspectionSheet, Plan};

const ROOM: Area = Area::new(0.0, 0.0, 190.0, 120.0);
const EDGE: f64 = 12.0;
/// Length of the stroke that shows where the probe comes from, mm of the sheet.
const NORMAL: f64 = 1.4;

/// With more sizes than these the contours are numbered instead: the name of a size begins with that number.
const MOST_NUMBERED: usize = 40;

const STYLE: &str = "
.probe{stroke:#0b5c7d;stroke-width:0.2;fill:none}
.size-line{stroke:#366b40;stroke-width:0.18;fill:none}
";

/// Returns the part with the numbers of its sizes and the points of its walls.
pub fn inspection_sheet(plan: &Plan, sheet: &InspectionSheet) -> String {
    let list = &plan.inspection.contours.list;
    let is_shown = |contour: &&Contour| contour.purpose.is_edge() || contour.purpose.is_cut();
    let shown = || list.iter().filter(is_shown);
    let bounds = shown().fold(Bounds::EMPTY, |all, contour| all.union(contour.bounds));
    let view = View::filling(bounds, ROOM.inset(EDGE, EDGE, EDGE, EDGE));
    let mut labels = Labels::within(ROOM.inset(1.0, 1.0, 1.0, 6.0));
    let mut drawn = group("part");
    for contour in shown() {
        labels.draw(&view, &contour.polyline);
        let class = if contour.purpose.is_cut() {
            "contour"
        } else {
            "contour existing"
        };
        drawn = drawn.add(path(class, view.data(&contour.polyline), None));
    }
    let is_many = sheet.sizes.len() > MOST_NUMBERED;
    let (numbers, told) = if is_many {
        (contours(plan, sheet, &view, &mut labels), "numbers: contours")
    } else {
        (sizes(&sheet.sizes, &view, &mut labels), "numbers: sizes")
    };
    let foot = spot(3.0, ROOM.bottom() - 2.5);
    let told = format!("{told}; strokes: points and where the probe comes from");
    let name = format!("Sizes and points of {}", plain(&plan.inspection.file));
    let document = picture(ROOM, &name, STYLE)
        .add(rectangle("paper", ROOM))
        .add(drawn)
        .add(probes(&sheet.points, &view))
        .add(numbers)
        .add(Lettering::new("quiet", SMALL).write(foot, ROOM.width - 6.0, &told));
    document.to_string() + "\n"
}

fn probes(points: &[ProbePoint], view: &View) -> Group {
    let mut data = String::new();
    for point in points {
        let at = view.place(point.at);
        let [x, y] = point.normal;
        let (right, down) = (coordinate(NORMAL * x), coordinate(-NORMAL * y));
        let _ = write!(data, "M{} {}l{right} {down}", coordinate(at.x), coordinate(at.y));
    }
    let drawn = group("points");
    if data.is_empty() {
        drawn
    } else {
        drawn.add(path("probe", data, None))
    }
}

/// Draws a line from wall to wall of each size, and its number in a ring beside it.
fn sizes(sizes: &[GaugedSize], view: &View, labels: &mut Labels) -> Group {
    let (mut lines, mut numbers) = (group("size-lines"), Group::new());
    for (number, size) in (1..).zip(sizes) {
        let [from, to] = [size.from, size.to].map(|at| view.place(at));
        let middle = spot(f64::midpoint(from.x, to.x), f64::midpoint(from.y, to.y));
        let at = match size.kind {
            SizeKind::OverallX | SizeKind::OverallY => to,
            SizeKind::Radius => from,
            _ => middle,
        };
        if !matches!(size.kind, SizeKind::OverallX | SizeKind::OverallY) {
            lines = lines.add(line("size-line", from, to));
        }
        let words = usize::to_string(&number);
        let radius = (0.9 * SMALL).max(0.5 * width(&words, SMALL) * BOLD + 0.3);
        let room = 2.0 * radius + 0.4;
        // The table has every size.
        let Some(center) = labels.first_free(room, room, [at].into_iter().chain(around(at))) else {
            continue;
        };
        lines = lines.add(line("mark-leader", at, center));
        numbers = numbers
            .add(dot("mark", center, radius))
            .add(Lettering::middle("strong", SMALL).write_level(center, room + 1.0, &words));
    }
    lines.add(numbers)
}

/// Writes the number of each contour of which there is a size at its middle, or near to it.
fn contours(plan: &Plan, sheet: &InspectionSheet, view: &View, labels: &mut Labels) -> Group {
    let of_contours = sheet.sizes.chunk_by(|a, b| a.contour == b.contour);
    let with_size = of_contours.filter_map(|sizes| plan.inspection.contours.get(sizes[0].contour));
    let mut with_size: Vec<&Contour> = with_size.collect();
    // A small one has its number within; a large one has room beside.
    with_size.sort_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
    with_size
        .into_iter()
        .fold(group("contour-numbers"), |drawn, contour| {
            let words = contour.id.to_string();
            let at = view.place(contour.bounds.center());
            let width = width(&words, SMALL) * BOLD;
            match labels.first_free(width, SMALL, [at].into_iter().chain(around(at))) {
                Some(center) => drawn.add(Lettering::middle("strong number", SMALL).write_level(
                    center,
                    width + 1.0,
                    &words,
                )),
                None => drawn,
            }
        })
}
