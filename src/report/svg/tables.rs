//! Tables on the sheet.

use svg::node::element::Group;

use super::sheet::{Anchor, Area, Lettering, group, line, spot};
use super::style;
use super::text::width;
use crate::message::Lengths;
use crate::report::view::{Outlet, ViewCell, ViewTable};

const SIZE: f64 = 2.2;
const STEP: f64 = 3.3;
/// Length of the sample of a line.
const SAMPLE: f64 = 11.0;

/// A column where it stands: its words from the head down, its left and its right edge.
struct PlacedColumn {
    texts: Vec<String>,
    left: f64,
    right: f64,
    is_number: bool,
}

/// Draws a table, as many rows as there is room for: the legend of lines is part of it.
pub(super) fn draw(name: &str, table: &ViewTable, area: Area) -> Group {
    let room = ((area.height - 6.0) / STEP).floor() as usize;
    let rows = table.rows(Outlet::SHEET);
    let shown = if table.rest(rows.len().min(room)).is_some() {
        room.saturating_sub(1)
    } else {
        rows.len()
    };
    let rows = &rows[..shown.min(rows.len())];
    let columns = table.columns(Outlet::SHEET);
    let mut placed: Vec<PlacedColumn> = columns
        .iter()
        .map(|(at, column)| {
            let cells = rows.iter().map(|row| row.cells[*at].text(Lengths::Mm));
            let texts: Vec<String> = [column.head(Lengths::Mm)].into_iter().chain(cells).collect();
            let has_sample = rows
                .iter()
                .any(|row| matches!(row.cells[*at], ViewCell::PassLine { .. }));
            let widest = texts.iter().map(|text| width(text, SIZE)).fold(0.0, f64::max);
            PlacedColumn {
                right: widest.max(if has_sample { SAMPLE } else { 0.0 }),
                left: 0.0,
                texts,
                is_number: column.is_number(),
            }
        })
        .collect();
    spread(&mut placed, area);
    let mut drawn = group(name).add(line(
        "rule",
        spot(area.x, area.y + 3.6),
        spot(area.right(), area.y + 3.6),
    ));
    for column in &placed {
        for (i, words) in column
            .texts
            .iter()
            .enumerate()
            .filter(|(_, words)| !words.is_empty())
        {
            let (class, y) = if i == 0 {
                ("quiet", area.y + 2.4)
            } else {
                ("", row_y(area, i - 1))
            };
            let (x, anchor) = if column.is_number {
                (column.right, Anchor::End)
            } else {
                (column.left, Anchor::Start)
            };
            let room = column.right - column.left + 0.5;
            drawn = drawn.add(Lettering::anchored(anchor, class, SIZE).write(spot(x, y), room, words));
        }
    }
    for (i, row) in rows.iter().enumerate() {
        for ((at, _), column) in columns.iter().zip(&placed) {
            if let ViewCell::PassLine { pass, of } = &row.cells[*at] {
                let y = row_y(area, i) - 0.8;
                let class = style::pass_class(*pass, *of);
                drawn = drawn.add(line(&class, spot(column.left, y), spot(column.left + SAMPLE, y)));
            }
        }
    }
    if let Some(rest) = table.rest(rows.len()) {
        let at = spot(area.x, row_y(area, rows.len()));
        drawn = drawn.add(Lettering::new("quiet", SIZE).write(at, area.width, &rest));
    }
    drawn
}

fn row_y(area: Area, row: usize) -> f64 {
    area.y + 7.0 + row as f64 * STEP
}

/// Spreads columns of known widths over the area.
fn spread(columns: &mut [PlacedColumn], area: Area) {
    let widths: f64 = columns.iter().map(|column| column.right).sum();
    let gaps = columns.len().saturating_sub(1).max(1) as f64;
    let gap = ((area.width - widths) / gaps).max(1.0);
    // Columns that are too wide for the area share what there is.
    let share = ((area.width - gap * gaps) / widths).min(1.0);
    let mut x = area.x;
    for column in columns {
        let wide = column.right * share;
        (column.left, column.right) = (x, x + wide);
        x += wide + gap;
    }
}
