//! The title block: what the sheet shows, what was called for, what it comes to, the offsets and the cautions.

use svg::node::element::Group;

use super::Content;
use super::flow::{Flow, indent_of, line_height};
use super::sheet::{Area, LARGE, Lettering, group, spot};
use super::tables::{self, TableStyle};
use super::text::wrapped;
use crate::message::number::plain;
use crate::plan::Plan;
use crate::report::cautions::cautions_in_short;
use crate::report::view::{self, Pair};
use crate::report::words;

/// Size of the name of the drawing, mm.
const NAME: f64 = 4.6;

/// Writes the name of the drawing, and what the view and the sheet say of it.
pub(super) fn fields(content: &Content<'_>, of_sheet: Vec<Pair>, flow: &mut Flow) {
    flow.begin("title-fields");
    flow.words("strong", NAME, 0.0, &content.inspection.file);
    flow.gap(1.0);
    let mut pairs = match content.plan {
        Some(plan) => view::title_of_plan(plan),
        None => view::title_of_inspection(content.inspection),
    };
    pairs.extend(of_sheet);
    let shown: Vec<(String, String)> = pairs
        .iter()
        .map(|pair| {
            (
                pair.name.shown(content.lengths),
                pair.value.shown(content.lengths),
            )
        })
        .collect();
    let indent = indent_of(shown.iter().map(|(name, _)| name.as_str()), LARGE);
    for (i, (name, value)) in shown.iter().enumerate() {
        // The state comes first, and is what everybody has to see.
        if i == 0 && content.plan.is_some() {
            flow.words("strong", LARGE, 0.0, &words::capitalised(value));
        } else {
            flow.named((name, indent), LARGE, "quiet", value);
        }
    }
}

/// Writes every offset of every group.
pub(super) fn offsets(content: &Content<'_>, flow: &mut Flow) {
    let Some(plan) = content.plan else { return };
    flow.gap(1.5);
    let style = TableStyle {
        name: "pass-table",
        size: LARGE,
        lengths: content.lengths,
        label: Some("offset"),
    };
    tables::draw(&style, &view::pass_table(plan), flow);
}

/// The cautions in short, at the foot of a column, and what is left of it.
pub(super) fn cautions(plan: &Plan, column: Area) -> (Group, Area) {
    let words = plain(&cautions_in_short(plan).join(" "));
    let lines = wrapped(&words, LARGE, column.width);
    let step = line_height(LARGE);
    let height = lines.len() as f64 * step;
    let top = column.bottom() - height;
    let drawn = lines
        .iter()
        .enumerate()
        .fold(group("cautions"), |drawn, (i, line)| {
            let at = spot(column.x, top + i as f64 * step + LARGE);
            drawn.add(Lettering::new("", LARGE).write(at, column.width, line))
        });
    (drawn, column.inset(0.0, 0.0, 0.0, height + 1.5))
}
