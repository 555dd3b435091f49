//! Tables on the sheet.

use svg::node::element::Group;

use super::flow::{Flow, line_height};
use super::sheet::{Anchor, Area, Lettering, line, spot};
use super::style;
use super::text::width;
use crate::message::Lengths;
use crate::report::view::{Outlet, ViewCell, ViewRow, ViewTable};

/// Length of the sample of a line.
const SAMPLE: f64 = 9.0;
/// Least gap between columns.
const GAP: f64 = 1.5;
/// Between the head and the rows.
const UNDER_HEAD: f64 = 1.2;

/// How a table is set.
pub(super) struct TableStyle {
    pub(super) name: &'static str,
    /// Size of its letters, mm.
    pub(super) size: f64,
    pub(super) lengths: Lengths,
    /// What kind of label each row is.
    pub(super) label: Option<&'static str>,
}

/// A column of a table: where its cells stand in a row, the lines of its head, and its width.
struct PlacedColumn {
    at: usize,
    head: Vec<String>,
    widest: f64,
    is_number: bool,
}

/// Draws a table, with its head in each column that it goes on in; the legend of lines is part of it.
pub(super) fn draw(style: &TableStyle, table: &ViewTable, flow: &mut Flow) {
    let rows = table.rows(Outlet::SHEET);
    let columns = placed(style, table, rows);
    let step = line_height(style.size);
    let head = columns
        .iter()
        .map(|column| column.head.len())
        .max()
        .unwrap_or_default() as f64
        * step
        + UNDER_HEAD;
    flow.begin(style.name);
    let mut rest = rows;
    while !rest.is_empty() {
        flow.keep(head + step);
        let fit = ((flow.left() - head) / step).floor().max(1.0) as usize;
        let (shown, after) = rest.split_at(fit.min(rest.len()));
        let area = flow.room(head + shown.len() as f64 * step);
        flow.put(part(style, &columns, shown, area));
        rest = after;
    }
    if let Some(rest) = table.rest(rows.len()) {
        flow.words("quiet", style.size, 0.0, &rest.shown(style.lengths));
    }
}

fn placed(style: &TableStyle, table: &ViewTable, rows: &[ViewRow]) -> Vec<PlacedColumn> {
    let columns = table.columns(Outlet::SHEET).into_iter();
    let column = columns.map(|(at, column)| {
        let name = column.head(style.lengths);
        let head: Vec<String> = name.split(' ').map(str::to_owned).collect();
        let cells = rows.iter().map(|row| row.cells[at].text(style.lengths));
        let texts = cells.chain(head.iter().cloned());
        let widest = texts.map(|text| width(&text, style.size)).fold(0.0, f64::max);
        let has_sample = rows
            .iter()
            .any(|row| matches!(row.cells[at], ViewCell::PassLine { .. }));
        PlacedColumn {
            at,
            head,
            widest: if has_sample { widest.max(SAMPLE) } else { widest },
            is_number: column.is_number(),
        }
    });
    column.collect()
}

/// Draws the head and some rows.
fn part(style: &TableStyle, columns: &[PlacedColumn], rows: &[ViewRow], area: Area) -> Group {
    let step = line_height(style.size);
    let edges = spread(columns, area);
    let head_lines = columns
        .iter()
        .map(|column| column.head.len())
        .max()
        .unwrap_or_default();
    let foot = area.y + head_lines as f64 * step + 0.3;
    let mut drawn = Group::new().add(line("rule", spot(area.x, foot), spot(area.right(), foot)));
    let put = |class: &str, column: &PlacedColumn, (left, right): (f64, f64), y: f64, words: &str| {
        let (x, anchor) = if column.is_number {
            (right, Anchor::End)
        } else {
            (left, Anchor::Start)
        };
        Lettering::anchored(anchor, class, style.size).write(spot(x, y), right - left + 0.5, words)
    };
    for (column, edges) in columns.iter().zip(&edges) {
        let above = head_lines - column.head.len();
        for (i, words) in column.head.iter().enumerate() {
            let y = area.y + (above + i) as f64 * step + style.size;
            drawn = drawn.add(put("quiet", column, *edges, y, words));
        }
    }
    for (i, row) in rows.iter().enumerate() {
        let y = foot + UNDER_HEAD - 0.3 + i as f64 * step + style.size;
        let mut shown = Group::new();
        if let Some(label) = style.label {
            shown = shown.set("data-label", label);
        }
        for (column, edges) in columns.iter().zip(&edges) {
            shown = match &row.cells[column.at] {
                ViewCell::PassLine { pass, of } => {
                    let y = y - 0.36 * style.size;
                    let class = style::pass_class(*pass, *of);
                    shown.add(line(&class, spot(edges.0, y), spot(edges.0 + SAMPLE, y)))
                }
                cell => {
                    let words = cell.text(style.lengths);
                    if words.is_empty() {
                        shown
                    } else {
                        shown.add(put("", column, *edges, y, &words))
                    }
                }
            };
        }
        drawn = drawn.add(shown);
    }
    drawn
}

/// Returns the left and right edges of columns spread over an area.
fn spread(columns: &[PlacedColumn], area: Area) -> Vec<(f64, f64)> {
    let widths: f64 = columns.iter().map(|column| column.widest).sum();
    let gaps = columns.len().saturating_sub(1).max(1) as f64;
    let gap = ((area.width - widths) / gaps).max(GAP);
    // Columns that are too wide for the area share what there is.
    let share = ((area.width - gap * gaps) / widths).min(1.0);
    let mut x = area.x;
    let edges = columns.iter().map(|column| {
        let left = x;
        let right = left + column.widest * share;
        x = right + gap;
        (left, right)
    });
    edges.collect()
}
