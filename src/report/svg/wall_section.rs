//! The wall section: the wire at each pass drawn to scale against the finished wall.

use svg::node::element::Group;

use super::dimension::{bar, round_bar, um_in_full};
use super::flow::{Flow, line_height};
use super::paper::COLUMN;
use super::sheet::{Area, LARGE, Lettering, SMALL, arrow_head, group, line, path, rectangle, spot};
use super::style;
use super::view::View;
use crate::geometry::{Point, Polyline};
use crate::message::Lengths;
use crate::pass::Pass;
use crate::plan::Plan;
use crate::report::words;

/// Widest that a panel of the strip is drawn, mm.
const WIDEST: f64 = 58.0;
const GAP: f64 = 3.0;
/// Height of the window of a panel on the sheet, and of the strip's letters, mm.
const WINDOW: f64 = 26.0;
const STRIP: f64 = 2.2;

const HEADING: &str = "the wire at each pass against the finished wall, to scale";

/// Size of the letters of a panel: of the pass and its offset, and of the rest.
#[derive(Clone, Copy)]
struct PanelLetters {
    large: f64,
    small: f64,
}

/// The passes of a group that are drawn at one scale.
struct DrawnWall<'a> {
    plan: &'a Plan,
    passes: &'a [Pass],
    /// Sheet millimetres per millimetre.
    scale: f64,
    lengths: Lengths,
    letters: PanelLetters,
}

impl<'a> DrawnWall<'a> {
    /// Of the first group, in panels of this width: from a little inside the wall to a little past the wire's centre.
    fn first(plan: &'a Plan, width: f64, lengths: Lengths, letters: PanelLetters) -> Option<Self> {
        let passes = plan.groups.first()?.passes();
        let widest_offset = passes.iter().map(|pass| pass.offset_mm).fold(0.0, f64::max);
        Some(Self {
            plan,
            passes,
            scale: width / (1.3 * widest_offset),
            lengths,
            letters,
        })
    }

    /// Returns the height of the words below a panel, with a gap below.
    fn words_height(&self) -> f64 {
        let small = if self.plan.aim_mm() == 0.0 { 2.0 } else { 3.0 };
        2.0 * line_height(self.letters.large) + small * line_height(self.letters.small) + 1.5
    }

    /// Draws the scale bar at the right end of a line.
    fn bar(&self, line: Area) -> Group {
        let (bar_width, words) = round_bar(25.0, self.scale, self.lengths);
        let room = bar_width + 2.5 + super::text::width(&words, SMALL);
        let at = spot(line.right() - room, line.bottom() - 1.0);
        bar("wall-section-scale-bar", at, bar_width, &words)
    }
}

fn heading(plan: &Plan) -> String {
    let of_group = plan.groups.first().filter(|_| plan.groups.len() > 1);
    let of_group = of_group.map_or_else(String::new, |group| format!(" of group {}", group.group));
    format!("wall section{of_group}: {HEADING}")
}

/// Draws the passes of the first group side by side.
pub(super) fn strip(plan: &Plan, lengths: Lengths, area: Area) -> Group {
    let drawn = group("wall-section");
    let count = plan.groups.first().map_or(1, |first| first.passes().len()) as f64;
    let width = ((area.width - GAP * (count - 1.0)) / count).min(WIDEST);
    let letters = PanelLetters {
        large: STRIP,
        small: STRIP,
    };
    let Some(wall) = DrawnWall::first(plan, width, lengths, letters) else {
        return drawn;
    };
    let title = Lettering::new("strong", 2.4).write(spot(area.x, area.y + 2.4), 130.0, &heading(plan));
    let drawn = drawn
        .add(title)
        .add(wall.bar(Area::new(area.x, area.y, area.width, 3.2)));
    wall.passes.iter().enumerate().fold(drawn, |drawn, (i, pass)| {
        let x = area.x + i as f64 * (width + GAP);
        let panel = Area::new(x, area.y + 4.5, width, area.height - 4.5);
        drawn.add(section(&wall, pass, panel))
    })
}

/// Draws the passes of the first group in rows of two.
pub(super) fn rows(plan: &Plan, lengths: Lengths, flow: &mut Flow) {
    let letters = PanelLetters {
        large: LARGE,
        small: SMALL,
    };
    let width = (COLUMN - GAP) / 2.0;
    let Some(wall) = DrawnWall::first(plan, width, lengths, letters) else {
        return;
    };
    let height = WINDOW + wall.words_height();
    flow.gap(2.5);
    let rows = wall.passes.len().div_ceil(2) as f64;
    flow.keep(rows * height + 4.0 * line_height(SMALL));
    flow.begin("wall-section");
    flow.words("strong", SMALL, 0.0, &heading(plan));
    let line = flow.room(line_height(SMALL));
    flow.put(wall.bar(line));
    for pair in wall.passes.chunks(2) {
        let area = flow.room(height);
        for (i, pass) in pair.iter().enumerate() {
            let x = area.x + i as f64 * (width + GAP);
            flow.put(section(&wall, pass, Area::new(x, area.y, width, height - 1.5)));
        }
    }
}

fn section(wall: &DrawnWall<'_>, pass: &Pass, panel: Area) -> Group {
    let DrawnWall {
        plan, scale, letters, ..
    } = *wall;
    let window = panel.inset(0.0, 0.0, 0.0, wall.words_height() - 1.0);
    // The wall is at x = 0, material to its left, the wire's centre at x = offset.
    let view = View {
        area: window,
        center: Point::new(window.width / scale / 2.0 - 0.12 * window.width / scale, 0.0),
        scale,
        turn_rad: 0.0,
    };
    let wall_x = view.place(Point::default()).x;
    let center = view.place(Point::new(pass.offset_mm, 0.0));
    let wire = Polyline::circle(Point::new(pass.offset_mm, 0.0), plan.setup.wire_mm / 2.0);
    let face = view.place(Point::new(pass.stock_mm, 0.0)).x;
    let class = style::pass_class(pass.pass, wall.passes.len());
    let mut drawn = group(&format!("wall-section-pass-{}", pass.pass))
        .add(rectangle("window", window))
        .add(rectangle(
            "kept",
            Area::new(window.x, window.y, wall_x - window.x, window.height),
        ));
    if face > wall_x {
        drawn = drawn.add(rectangle(
            "left-stock",
            Area::new(wall_x, window.y, face - wall_x, window.height),
        ));
    }
    drawn = drawn.add(path("wire-body", view.clipped_area(&wire), None));
    if let Some((outline, _)) = view.clipped(&wire, 1.0) {
        drawn = drawn.add(path("edge", outline, None));
    }
    let y = window.bottom() - 3.0;
    drawn = drawn
        .add(line(
            "contour",
            spot(wall_x, window.y),
            spot(wall_x, window.bottom()),
        ))
        .add(line(
            &class,
            spot(center.x, window.y),
            spot(center.x, window.bottom()),
        ))
        .add(line("dimension", spot(wall_x, y), spot(center.x, y)))
        .add(arrow_head("dimension-arrow", spot(wall_x, y), (-1.0, 0.0), 1.6))
        .add(arrow_head("dimension-arrow", spot(center.x, y), (1.0, 0.0), 1.6))
        .add(rectangle("edge", window));
    let um = |length_mm: f64| um_in_full(length_mm, wall.lengths);
    let mut lines = vec![
        (
            "strong",
            letters.large,
            format!("pass {}: {}", pass.pass, words::pass_kind(pass.kind)),
        ),
        ("strong", letters.large, um(pass.offset_mm)),
        ("quiet", letters.small, format!("gap {}", um(pass.spark_gap_mm))),
        ("quiet", letters.small, format!("stock {}", um(pass.stock_mm))),
    ];
    if plan.aim_mm() != 0.0 {
        lines.push(("quiet", letters.small, format!("aim {}", um(plan.aim_mm()))));
    }
    let mut y = window.bottom() + 0.6;
    for (class, size, words) in &lines {
        drawn = drawn.add(Lettering::new(class, *size).write(spot(panel.x, y + size), panel.width, words));
        y += line_height(*size);
    }
    drawn
}
