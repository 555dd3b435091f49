//! The wall section: the wire at each pass drawn to scale against the finished wall.

use svg::node::element::Group;

use super::dimension::bar;
use super::sheet::{Area, Lettering, arrow_head, group, line, path, rectangle, round_length, spot};
use super::style;
use super::view::View;
use crate::geometry::{Point, Polyline};
use crate::message::number::{short, um};
use crate::pass::Pass;
use crate::plan::Plan;
use crate::report::words;
use crate::units::UM_PER_MM;

const SIZE: f64 = 2.2;
/// Widest that a panel is drawn, mm.
const WIDEST: f64 = 58.0;
const GAP: f64 = 3.0;

/// Draws the passes of the first group into `area`.
pub(super) fn draw(plan: &Plan, area: Area) -> Group {
    let mut drawn = group("wall-section");
    let Some(first) = plan.groups.first() else {
        return drawn;
    };
    let count = first.passes().len() as f64;
    let widest_offset = first
        .passes()
        .iter()
        .map(|pass| pass.offset_mm)
        .fold(0.0, f64::max);
    let width = ((area.width - GAP * (count - 1.0)) / count).min(WIDEST);
    // From a little inside the wall to a little past the wire's centre.
    let scale = width / (1.3 * widest_offset);
    let of_group = if plan.groups.len() > 1 {
        format!(" of group {}", first.group)
    } else {
        String::new()
    };
    let heading =
        format!("wall section{of_group}: the wire at each pass against the finished wall, to scale");
    drawn = drawn.add(Lettering::new("strong", 2.4).write(spot(area.x, area.y + 2.4), 130.0, &heading));
    let length_um = round_length(25.0 / scale * UM_PER_MM);
    let bar_width = length_um / UM_PER_MM * scale;
    let words = format!("{} µm", short(length_um, 4));
    let bar_room = bar_width + 2.0 + super::text::width(&words, 2.3);
    drawn = drawn.add(bar(
        "wall-section-scale-bar",
        spot(area.right() - bar_room, area.y + 2.2),
        bar_width,
        &words,
    ));
    for (i, pass) in first.passes().iter().enumerate() {
        let x = area.x + i as f64 * (width + GAP);
        let panel = Area::new(x, area.y + 4.5, width, area.height - 4.5);
        drawn = drawn.add(section(plan, pass, first.passes().len(), scale, panel));
    }
    drawn
}

fn section(plan: &Plan, pass: &Pass, passes: usize, scale: f64, panel: Area) -> Group {
    const NARROW: f64 = 28.0;
    let narrow = panel.width < NARROW;
    let window = panel.inset(0.0, 0.0, 0.0, if narrow { 15.0 } else { 11.6 });
    // The wall is at x = 0, material to its left, the wire's centre at x = offset.
    let view = View {
        area: window,
        center: Point::new(window.width / scale / 2.0 - 0.12 * window.width / scale, 0.0),
        scale,
        turn_rad: 0.0,
    };
    let wall = view.place(Point::default()).x;
    let center = view.place(Point::new(pass.offset_mm, 0.0));
    let wire = Polyline::circle(Point::new(pass.offset_mm, 0.0), plan.setup.wire_mm / 2.0);
    let face = view.place(Point::new(pass.stock_mm, 0.0)).x;
    let class = style::pass_class(pass.pass, passes);
    let mut drawn = group(&format!("wall-section-pass-{}", pass.pass))
        .add(rectangle("window", window))
        .add(rectangle(
            "kept",
            Area::new(window.x, window.y, wall - window.x, window.height),
        ));
    if face > wall {
        drawn = drawn.add(rectangle(
            "left-stock",
            Area::new(wall, window.y, face - wall, window.height),
        ));
    }
    drawn = drawn.add(path("wire-body", view.clipped_area(&wire), None));
    if let Some((outline, _)) = view.clipped(&wire, 1.0) {
        drawn = drawn.add(path("edge", outline, None));
    }
    let y = window.bottom() - 3.0;
    drawn = drawn
        .add(line("contour", spot(wall, window.y), spot(wall, window.bottom())))
        .add(line(
            &class,
            spot(center.x, window.y),
            spot(center.x, window.bottom()),
        ))
        .add(line("dimension", spot(wall, y), spot(center.x, y)))
        .add(arrow_head("dimension-arrow", spot(wall, y), (-1.0, 0.0), 1.6))
        .add(arrow_head("dimension-arrow", spot(center.x, y), (1.0, 0.0), 1.6))
        .add(rectangle("edge", window));
    let kind = words::pass_kind(pass.kind);
    let aim = match plan.aim_mm() {
        0.0 => String::new(),
        aim => format!(", aim {}", um(aim)),
    };
    let offset = format!("{} µm", um(pass.offset_mm));
    let mut lines = if narrow {
        vec![("strong", format!("{} {kind}", pass.pass)), ("strong", offset)]
    } else {
        vec![("strong", format!("{} {kind}: {offset}", pass.pass))]
    };
    lines.push(("quiet", format!("gap {}{aim} µm", um(pass.spark_gap_mm))));
    lines.push(("quiet", format!("stock {} µm", um(pass.stock_mm))));
    for (i, (class, words)) in lines.iter().enumerate() {
        let at = spot(panel.x, window.bottom() + 3.2 + i as f64 * 3.3);
        drawn = drawn.add(Lettering::new(class, SIZE).write(at, panel.width, words));
    }
    drawn
}
