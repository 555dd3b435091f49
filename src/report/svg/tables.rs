//! Tables on the sheet.

use svg::node::element::Group;

use super::sheet::{Anchor, Area, group, line, spot, text};
use super::style;
use crate::message::number::{fixed, um};
use crate::plan::{Inspection, Plan};
use crate::report::words;

const SIZE: f64 = 2.2;
const STEP: f64 = 3.3;

/// Draws the contours of a drawing, as many as there is room for.
pub(super) fn contours(inspection: &Inspection, area: Area) -> Group {
    const COLUMNS: [(&str, f64, Anchor); 5] = [
        ("contour", 12.0, Anchor::End),
        ("role", 15.0, Anchor::Start),
        ("perimeter mm", 54.0, Anchor::End),
        ("area mm²", 77.0, Anchor::End),
        ("inside R", 95.0, Anchor::End),
    ];
    let rows = ((area.height - 8.0) / STEP).floor() as usize;
    let all = inspection.contours.list.len();
    let shown = if all > rows { rows - 1 } else { all };
    let mut drawn = group("contour-table");
    drawn = drawn.add(row(
        COLUMNS.map(|(head, x, anchor)| (head.into(), x, anchor)),
        "quiet",
        area,
        area.y + 2.4,
    ));
    drawn = drawn.add(line(
        "rule",
        spot(area.x, area.y + 3.6),
        spot(area.right(), area.y + 3.6),
    ));
    for (i, contour) in inspection.contours.list.iter().take(shown).enumerate() {
        let cells = [
            contour.id.to_string(),
            words::role(contour.role).into(),
            fixed(contour.perimeter_mm, 3),
            fixed(contour.area_mm2, 3),
            words::inside_radius(contour.min_inside_radius_mm),
        ];
        let mut cells = cells.into_iter();
        let cells = COLUMNS.map(|(_, x, anchor)| (cells.next().unwrap_or_default(), x, anchor));
        drawn = drawn.add(row(cells, "", area, area.y + 7.0 + i as f64 * STEP));
    }
    if all > shown {
        let at = spot(area.x, area.y + 7.0 + shown as f64 * STEP);
        let words = format!("and {} more, listed by the command", all - shown);
        drawn = drawn.add(text("quiet", at, Anchor::Start, SIZE, area.width, &words));
    }
    drawn
}

/// Draws the passes, each with a sample of its line: the legend is part of the table.
pub(super) fn passes(plan: &Plan, area: Area) -> Group {
    const COLUMNS: [(&str, f64, Anchor); 6] = [
        ("wire centre", 0.0, Anchor::Start),
        ("offset µm", 33.0, Anchor::End),
        ("gap µm", 45.0, Anchor::End),
        ("stock µm", 59.0, Anchor::End),
        ("mm/min", 73.0, Anchor::End),
        ("minutes", 89.0, Anchor::End),
    ];
    let mut drawn = group("pass-table");
    drawn = drawn.add(row(
        COLUMNS.map(|(head, x, anchor)| (head.into(), x, anchor)),
        "quiet",
        area,
        area.y + 2.4,
    ));
    drawn = drawn.add(line(
        "rule",
        spot(area.x, area.y + 3.6),
        spot(area.right(), area.y + 3.6),
    ));
    let rows = ((area.height - 4.0) / STEP).floor() as usize;
    let all: Vec<_> = plan
        .groups
        .iter()
        .flat_map(|group| group.passes().iter().map(move |pass| (group, pass)))
        .collect();
    let shown = if all.len() > rows { rows - 1 } else { all.len() };
    for (i, (group, pass)) in all.iter().take(shown).enumerate() {
        let y = area.y + 7.0 + i as f64 * STEP;
        let name = if plan.groups.len() > 1 {
            format!("{}.{}", group.group, pass.pass)
        } else {
            pass.pass.to_string()
        };
        let class = style::pass_class(pass.pass, group.passes().len());
        let sample = line(&class, spot(area.x, y - 0.8), spot(area.x + 11.0, y - 0.8));
        let cut = plan
            .estimate
            .cut
            .rows
            .iter()
            .find(|row| (row.group, row.pass) == (group.group, pass.pass));
        let minutes = cut.and_then(|cut| cut.minutes);
        let cells = [
            (name, 12.5, Anchor::Start),
            (um(pass.offset_mm), 33.0, Anchor::End),
            (um(pass.spark_gap_mm), 45.0, Anchor::End),
            (um(pass.stock_mm), 59.0, Anchor::End),
            (fixed(pass.feed_mm_min.expected, 2), 73.0, Anchor::End),
            (
                minutes.map_or_else(|| "–".into(), |minutes| fixed(minutes.expected, 1)),
                89.0,
                Anchor::End,
            ),
        ];
        drawn = drawn.add(sample).add(row(cells, "", area, y));
    }
    if all.len() > shown {
        let at = spot(area.x, area.y + 7.0 + shown as f64 * STEP);
        let words = format!("and {} more, listed by the command", all.len() - shown);
        drawn = drawn.add(text("quiet", at, Anchor::Start, SIZE, area.width, &words));
    }
    drawn
}

fn row<const N: usize>(cells: [(String, f64, Anchor); N], class: &str, area: Area, y: f64) -> Group {
    const WIDEST: f64 = 40.0;
    cells
        .into_iter()
        .filter(|(words, ..)| !words.is_empty())
        .fold(Group::new(), |row, (words, x, anchor)| {
            row.add(text(class, spot(area.x + x, y), anchor, SIZE, WIDEST, &words))
        })
}
