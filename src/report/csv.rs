//! Tables for a spreadsheet: CSV (RFC 4180), fixed decimals, nothing where a value is not known. No number has three
//! decimals: where the point parts thousands, a spreadsheet would take it for a whole one. No text begins as a formula does.

use csv::{Terminator, WriterBuilder};

use crate::estimate::JobTotals;
use crate::message::number::{fixed, plain};
use crate::plan::{Candidate, Comparison, shortfalls_in_words};
use crate::report::words;
use crate::units::Band;

const COLUMNS: [&str; 29] = [
    "wire_mm",
    "wire_kind",
    "machine",
    "passes",
    "feasible",
    "non_dominated",
    "chosen",
    "figures",
    "minutes_low",
    "minutes",
    "minutes_high",
    "cost_low",
    "cost",
    "cost_high",
    "ra_um",
    "accuracy_um",
    "accuracy_modelled_um",
    "min_inside_radius_mm",
    "unreached_um",
    "reasons",
    "machine_minutes",
    "piece_minutes",
    "order_minutes_low",
    "order_minutes",
    "order_minutes_high",
    "cost_piece",
    "price_indicative_low",
    "price_indicative",
    "price_indicative_high",
];

/// Writes a comparison, one row a candidate.
pub fn comparison(comparison: &Comparison) -> String {
    let rows = comparison.candidates.iter().map(|candidate| line(row(candidate)));
    std::iter::once(line(COLUMNS)).chain(rows).collect()
}

/// One row, ended by CR LF.
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
pub(super) fn text_cell(text: &str) -> String {
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

fn row(candidate: &Candidate) -> [String; COLUMNS.len()] {
    let yes = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    let of = |value: Option<f64>, decimals| value.map_or_else(String::new, |value| fixed(value, decimals));
    let end = |band: Option<Band>, end: fn(Band) -> f64, decimals| of(band.map(end), decimals);
    let total = |figure: fn(JobTotals) -> Band| candidate.totals.map(figure);
    let expected = |band: Band| band.expected;
    [
        fixed(candidate.wire_mm, 4),
        text_cell(&candidate.wire_kind),
        text_cell(&candidate.machine),
        words::passes(candidate),
        yes(candidate.feasible),
        yes(candidate.non_dominated),
        yes(candidate.chosen),
        words::figures(candidate.basis).to_owned(),
        end(candidate.minutes, |band| band.low, 2),
        end(candidate.minutes, |band| band.expected, 2),
        end(candidate.minutes, |band| band.high, 2),
        end(total(|totals| totals.cost_order), |band| band.low, 2),
        end(total(|totals| totals.cost_order), expected, 2),
        end(total(|totals| totals.cost_order), |band| band.high, 2),
        end(candidate.ra_um, |band| band.expected, 4),
        of(candidate.accuracy_um, 2),
        of(candidate.accuracy_modelled_um, 2),
        of(candidate.min_inside_radius_mm, 4),
        of(candidate.unreached_um, 1),
        text_cell(&shortfalls_in_words(&candidate.reasons)),
        end(total(|totals| totals.machine_minutes), expected, 2),
        end(total(|totals| totals.piece_minutes), expected, 2),
        end(total(|totals| totals.order_minutes), |band| band.low, 2),
        end(total(|totals| totals.order_minutes), expected, 2),
        end(total(|totals| totals.order_minutes), |band| band.high, 2),
        end(total(|totals| totals.cost_piece), expected, 2),
        end(total(|totals| totals.price_indicative), |band| band.low, 2),
        end(total(|totals| totals.price_indicative), expected, 2),
        end(total(|totals| totals.price_indicative), |band| band.high, 2),
    ]
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
