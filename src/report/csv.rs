//! Tables for a spreadsheet: CSV (RFC 4180), fixed decimals, nothing where a value is not known. No number has three
//! decimals: where the point parts thousands, a spreadsheet would take it for a whole one. No text begins as a formula does.

use csv::{Terminator, WriterBuilder};

use crate::id::ContourId;
use crate::message::Lengths;
use crate::message::number::plain;
use crate::plan::{Comparison, InspectionSheet};
use crate::report::view::{
    MeasuredRow, RecordCell, RecordColumn, candidate_columns, point_columns, size_columns,
};

/// Writes a comparison, one row a candidate.
pub fn comparison(comparison: &Comparison) -> String {
    let columns = candidate_columns();
    let rows = comparison
        .candidates
        .iter()
        .map(|candidate| row(&columns, candidate, Lengths::Mm));
    std::iter::once(line(columns.each_ref().map(|column| column.name)))
        .chain(rows)
        .collect()
}

/// Writes the sizes of a finished part, one a row, with an empty column for the readings.
pub fn sizes(sheet: &InspectionSheet) -> String {
    let rows = sheet.sizes.iter().map(|size| (size.contour, size));
    measured(sheet, &size_columns(), rows)
}

/// Writes the points of a measuring machine, one a row, with an empty column for the readings.
pub fn probe_points(sheet: &InspectionSheet) -> String {
    let rows = sheet.points.iter().map(|point| (point.contour, point));
    measured(sheet, &point_columns(), rows)
}

fn measured<T, const N: usize>(
    sheet: &InspectionSheet,
    columns: &[RecordColumn<MeasuredRow<T>>; N],
    rows: impl Iterator<Item = (ContourId, T)>,
) -> String {
    let rows = rows.map(|(contour, of)| {
        let (recipe, offset_mm) = sheet.cut_with(contour);
        let measured = MeasuredRow {
            of,
            recipe,
            offset_mm,
        };
        row(columns, &measured, Lengths::Mm)
    });
    let head = line(columns.each_ref().map(|column| column.name));
    std::iter::once(head).chain(rows).collect()
}

/// Writes a row, ended by CR LF.
pub(super) fn row<R, const N: usize>(columns: &[RecordColumn<R>; N], row: &R, lengths: Lengths) -> String {
    line(columns.each_ref().map(|column| match (column.cell)(row) {
        RecordCell::Empty => String::new(),
        RecordCell::Text(words) => text_cell(&words.in_unit(lengths)),
        RecordCell::Word(word) => word,
        RecordCell::Quantity(value) => value.cell(lengths),
    }))
}

/// Writes cells as a line, ended by CR LF.
pub(super) fn line<const N: usize>(cells: [impl AsRef<[u8]>; N]) -> String {
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(cells).expect("a row into memory");
    let bytes = writer.into_inner().expect("memory can be written");
    String::from_utf8(bytes).expect("made of text")
}

/// What a spreadsheet takes for the beginning of a formula, or cuts off before one. From memory of the OWASP page "CSV Injection", not
/// verified against it.
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// Writes a text, which may be a stranger's, as a cell: without what steers a terminal, and with an apostrophe before whatever would be
/// read as a formula, at its start or where a spreadsheet that is set to another separator would part it. [`cell_text`] takes them off.
fn text_cell(text: &str) -> String {
    with_formulas(&plain(text), |formula| format!("'{formula}"))
}

/// Returns the text of a cell that [`text_cell`] wrote; one of any other hand as it stands, but for such apostrophes.
pub(crate) fn cell_text(cell: &str) -> String {
    with_formulas(cell, |formula| {
        formula.strip_prefix('\'').unwrap_or(formula).to_owned()
    })
}

/// Writes each piece of a cell that would be a formula otherwise: one may begin at its start and after each `;` or tab, behind spaces,
/// apostrophes and quotes.
fn with_formulas(cell: &str, written: impl Fn(&str) -> String) -> String {
    let pieces = cell.split_inclusive([';', '\t']).map(|piece| {
        let (spaces, rest) = piece.split_at(piece.len() - piece.trim_start_matches(' ').len());
        if rest.trim_start_matches([' ', '\'', '"']).starts_with(FORMULA) {
            format!("{spaces}{}", written(rest))
        } else {
            piece.to_owned()
        }
    });
    pieces.collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn formulas_are_texts() {
        for (text, cell) in [
            ("=1+1", "'=1+1"),
            ("+49 30", "'+49 30"),
            ("-2", "'-2"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("a; =1;-2;b-c", "a; '=1;'-2;b-c"),
            ("'=1", "''=1"),
            (" =1", " '=1"),
            ("it's 4+1", "it's 4+1"),
            ("'quoted'", "'quoted'"),
            ("a;\"=1\"", "a;'\"=1\""),
            ("\u{202e}=1", "\\u{202e}=1"),
        ] {
            assert_eq!(text_cell(text), cell);
        }
        assert_eq!(cell_text("'\t'=1;'\r"), "\t=1;\r");
    }

    proptest! {
        /// Parted at its semicolons or tabs, no piece of a cell begins a formula; and the text comes back.
        #[test]
        fn cells_come_back_and_hold_no_formula(text in "[-=+@'; \\t\\ra,\"\u{202e}\u{0}]{0,12}") {
            let cell = text_cell(&text);
            for piece in cell.split([';', '\t']) {
                prop_assert!(!piece.trim_start_matches([' ', '"']).starts_with(FORMULA), "{cell:?}");
            }
            prop_assert_eq!(cell_text(&cell), plain(&text));
        }
    }
}
