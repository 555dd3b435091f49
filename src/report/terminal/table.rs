use std::fmt::Write as _;

use super::QUIET;
use crate::message::Lengths;
use crate::report::view::{Outlet, ViewTable};

/// Longest words that are printed whole, in characters, but for those in the last column, which push nothing aside.
const CELL: usize = 48;

/// Writes a table, columns as wide as their widest cell, and says how many rows are left out.
pub(super) fn table(table: &ViewTable, lengths: Lengths) -> String {
    let columns = table.columns(Outlet::TERMINAL);
    let shown = table.rows(Outlet::TERMINAL);
    let heads: Vec<String> = columns.iter().map(|(_, column)| column.head(lengths)).collect();
    let cells: Vec<Vec<String>> = shown
        .iter()
        .map(|row| {
            columns
                .iter()
                .map(|(at, _)| row.cells[*at].text(lengths))
                .collect()
        })
        .collect();
    let width = |column: usize| {
        let most = if columns[column].1.is_number() {
            usize::MAX
        } else {
            CELL
        };
        let cells = cells.iter().map(|row| row[column].chars().count().min(most));
        cells.chain([heads[column].chars().count()]).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns.len()).map(width).collect();
    let line = |cells: &[String]| {
        let mut line = String::new();
        for (i, cell) in cells.iter().enumerate() {
            let (is_number, width) = (columns[i].1.is_number(), widths[i]);
            let is_free = i + 1 == cells.len() && !is_number;
            let _ = match (is_free, is_number) {
                (true, _) => write!(line, "  {cell}"),
                (false, false) => write!(line, "  {:<width$}", shortened(cell)),
                (false, true) => write!(line, "  {cell:>width$}"),
            };
        }
        line.truncate(line.trim_end().len());
        line
    };
    let mut text = format!("{QUIET}{}{QUIET:#}\n", line(&heads));
    for row in &cells {
        let _ = writeln!(text, "{}", line(row));
    }
    if let Some(rest) = table.rest(shown.len()) {
        let _ = writeln!(text, "  {rest}");
    }
    text
}

fn shortened(cell: &str) -> String {
    if cell.chars().count() <= CELL {
        return cell.into();
    }
    cell.chars().take(CELL - 1).chain(['…']).collect()
}
