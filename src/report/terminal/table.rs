use std::fmt::Write as _;

use super::QUIET;
use crate::report::lengths::Lengths;

/// Which way a column is set.
#[derive(Clone, Copy)]
pub(super) enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// Longest cell that is printed whole, in characters, but for words in the last column, which push nothing aside.
const CELL: usize = 32;

/// Writes `rows` under `heads`, columns as wide as their widest cell; says how many of `total` rows are left out. Columns whose heads name a unit of length are turned into `lengths`.
pub(super) fn table<const N: usize>(
    heads: [(&str, Align); N],
    rows: &[[String; N]],
    total: usize,
    lengths: Lengths,
) -> String {
    let mut shown: Vec<[String; N]> = rows.to_vec();
    let mut turned_heads = heads.map(|(head, align)| (head.to_owned(), align));
    for (column, (head, _)) in turned_heads.iter_mut().enumerate() {
        let cells = shown.iter().map(|row| row[column].clone()).collect();
        let (turned, cells) = lengths.column(head, cells);
        *head = turned;
        for (row, cell) in shown.iter_mut().zip(cells) {
            row[column] = cell;
        }
    }
    let heads = turned_heads
        .each_ref()
        .map(|(head, align)| (head.as_str(), *align));
    let width = |column: usize| {
        let cells = shown.iter().map(|row| row[column].chars().count().min(CELL));
        cells.chain([heads[column].0.chars().count()]).max().unwrap_or(0)
    };
    let widths: [usize; N] = std::array::from_fn(width);
    let mut text = String::new();
    let line = |cells: [&str; N]| {
        let mut line = String::new();
        for (column, cell) in cells.into_iter().enumerate() {
            let free = column + 1 == N && matches!(heads[column].1, Align::Left);
            let cell = if free { cell.to_owned() } else { shortened(cell) };
            let width = if free { 0 } else { widths[column] };
            let _ = match heads[column].1 {
                Align::Left => write!(line, "  {cell:<width$}"),
                Align::Right => write!(line, "  {cell:>width$}"),
            };
        }
        line.truncate(line.trim_end().len());
        line
    };
    let _ = writeln!(text, "{QUIET}{}{QUIET:#}", line(heads.map(|(head, _)| head)));
    for row in &shown {
        let _ = writeln!(
            text,
            "{}",
            line(std::array::from_fn(|column| row[column].as_str()))
        );
    }
    if total > shown.len() {
        let _ = writeln!(text, "  … and {} more; `--json` lists all", total - shown.len());
    }
    text
}

fn shortened(cell: &str) -> String {
    if cell.chars().count() <= CELL {
        return cell.into();
    }
    cell.chars().take(CELL - 1).chain(['…']).collect()
}
