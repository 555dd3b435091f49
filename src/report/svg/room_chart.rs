//! The picture of a room: its temperature and that of the part above, its humidity below, over the clock of the log with the order marked.

use svg::node::element::{Group, Path};

use super::plot::{self, Plot, Scale};
use super::sheet::{Area, Lettering, coordinate, group, line, picture, rectangle, spot};
use super::signs::dot;
use crate::gauge::{RoomDrift, RoomPoint};
use crate::message::number::plain;
use crate::plan::Plan;

const SIZE: f64 = 2.6;
const WARMTH: Plot = Plot::new(Area::new(16.0, 10.0, 158.0, 66.0), SIZE);
const HUMIDITY: Plot = Plot::new(Area::new(16.0, 90.0, 158.0, 28.0), SIZE);
const ROOM: Area = Area::new(0.0, 0.0, 178.0, 132.0);
const MEASURED: f64 = 0.6;

/// Told apart by dash and weight first, so that grey paper keeps them.
const STYLE: &str = "
.paper{fill:#fdfcf8}
.order-time{fill:#d5e3e9;fill-opacity:0.6;stroke:none}
.kept-at{stroke:#366b40;stroke-width:0.25;stroke-dasharray:3 1.2}
.room-line{fill:none;stroke:#8b8c8f;stroke-width:0.3}
.part-line{fill:none;stroke:#b3590a;stroke-width:0.5}
.measured{fill:#1d1f23}
";

/// Returns the picture of a room and the part of a plan in it.
pub fn part_in_room(plan: &Plan, drift: &RoomDrift) -> String {
    let [begins, ends] = drift.order_hours;
    let hours = drift.points.iter().map(|point| point.hours).chain([begins, ends]);
    let low = hours.clone().fold(f64::INFINITY, f64::min);
    let high = hours.fold(f64::NEG_INFINITY, f64::max);
    let across = WARMTH.even_across(low, high.max(low + 1.0));
    let kept = drift.beyond.limits_c;
    let temperatures = drift.points.iter().flat_map(|point| {
        let others = [point.part_c, point.measured_c];
        others.into_iter().flatten().chain([point.room_c])
    });
    let upward = WARMTH.even_upward(temperatures.chain(kept));
    let humid = drift.points.iter().filter_map(|point| point.humidity_percent);
    let humid = HUMIDITY.even_upward(humid.chain([drift.beyond.limit_percent]));
    let larger = 1.2 * SIZE;
    let title = |plot: Plot, words: &str| {
        Lettering::new("", larger).write(spot(plot.area.x - 12.0, plot.area.y - 2.5), 160.0, words)
    };
    let level = |plot: Plot, scale: Scale, value: f64| {
        let y = scale.at(value);
        line("kept-at", spot(plot.area.x, y), spot(plot.area.right(), y))
    };
    let foot = spot(HUMIDITY.area.center().x, HUMIDITY.area.bottom() + SIZE * 3.4);
    let words = if drift.lag.is_some() {
        "°C: room thin, part thick, its measured temperatures as dots; dashed: where a shop is kept"
    } else {
        "°C: room, measured temperatures of the part as dots; dashed: where a shop is kept"
    };
    let told = if drift.order_is_known {
        "hours since the first reading; shaded: the order"
    } else {
        "hours since the first reading"
    };
    let name = format!("Room and part of {}", plain(&plan.inspection.file));
    let drawn = picture(ROOM, &name, &[plot::STYLE, STYLE].concat())
        .add(rectangle("paper", ROOM))
        .add(WARMTH.window(upward))
        .add(HUMIDITY.axes(across, humid))
        .add(order_time(across, drift))
        .add(level(WARMTH, upward, kept[0]))
        .add(level(WARMTH, upward, kept[1]))
        .add(level(HUMIDITY, humid, drift.beyond.limit_percent))
        .add(curve("room-line", &drift.points, across, upward, |point| {
            Some(point.room_c)
        }))
        .add(curve("part-line", &drift.points, across, upward, |point| {
            point.part_c
        }))
        .add(measured(&drift.points, across, upward))
        .add(curve("room-line", &drift.points, across, humid, |point| {
            point.humidity_percent
        }))
        .add(title(WARMTH, words))
        .add(title(HUMIDITY, "relative humidity, %"))
        .add(Lettering::middle("", larger).write(foot, 150.0, told));
    drawn.to_string() + "\n"
}

fn order_time(across: Scale, drift: &RoomDrift) -> Group {
    let drawn = group("order-time");
    if !drift.order_is_known {
        return drawn;
    }
    let [from, to] = drift.order_hours.map(|hours| across.at(hours));
    let (top, foot) = (WARMTH.area.y, HUMIDITY.area.bottom());
    drawn.add(rectangle(
        "order-time",
        Area::new(from, top, to - from, foot - top),
    ))
}

fn curve(
    class: &str,
    points: &[RoomPoint],
    across: Scale,
    upward: Scale,
    value: impl Fn(&RoomPoint) -> Option<f64>,
) -> Path {
    let mut data = String::new();
    for point in points {
        let Some(value) = value(point) else { continue };
        let letter = if data.is_empty() { "M" } else { "L" };
        data += letter;
        data += &coordinate(across.at(point.hours));
        data += " ";
        data += &coordinate(upward.at(value));
    }
    Path::new().set("class", class).set("d", data)
}

fn measured(points: &[RoomPoint], across: Scale, upward: Scale) -> Group {
    let measured = points
        .iter()
        .filter_map(|point| Some((point.hours, point.measured_c?)));
    measured.fold(group("measured"), |drawn, (hours, celsius)| {
        drawn.add(dot(
            "measured",
            spot(across.at(hours), upward.at(celsius)),
            MEASURED,
        ))
    })
}
