//! Tables for a spreadsheet: CSV (RFC 4180), fixed decimals, nothing where a value is not known. No number has three
//! decimals: where the point parts thousands, a spreadsheet would take it for a whole one.

use csv::{Terminator, WriterBuilder};

use crate::estimate::JobTotals;
use crate::plan::{Candidate, Comparison, shortfalls_in_words};
use crate::report::number::{fixed, plain};
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

fn row(candidate: &Candidate) -> [String; COLUMNS.len()] {
    let yes = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    let of = |value: Option<f64>, decimals| value.map_or_else(String::new, |value| fixed(value, decimals));
    let end = |band: Option<Band>, end: fn(Band) -> f64, decimals| of(band.map(end), decimals);
    let total = |figure: fn(JobTotals) -> Band| candidate.totals.map(figure);
    let expected = |band: Band| band.expected;
    [
        fixed(candidate.wire_mm, 4),
        plain(&candidate.wire_kind),
        plain(&candidate.machine),
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
        plain(&shortfalls_in_words(&candidate.reasons)),
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
