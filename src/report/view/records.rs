//! Tables for programs: columns with promised names, a row a record.

use crate::estimate::JobTotals;
use crate::message::{Message, QuantityValue, mm, of_unit, roughness_um, um};
use crate::plan::{Candidate, shortfalls_in_words};
use crate::report::words;
use crate::units::Band;

/// A column: its name, with the unit in it, and what it says of a row.
pub(in crate::report) struct RecordColumn<R> {
    pub(in crate::report) name: &'static str,
    pub(in crate::report) cell: fn(&R) -> RecordCell,
}

pub(in crate::report) enum RecordCell {
    /// Not known.
    Empty,
    /// A text, which may be a stranger's.
    Text(Message),
    /// A word or a count of our own.
    Word(String),
    Quantity(QuantityValue),
}

impl From<Option<QuantityValue>> for RecordCell {
    fn from(value: Option<QuantityValue>) -> Self {
        value.map_or(Self::Empty, Self::Quantity)
    }
}

/// Makes a cell of a number without a unit that is turned.
pub(in crate::report) fn plain_number(value: Option<f64>, decimals: usize) -> RecordCell {
    value.map(|value| of_unit(value, "").fixed(decimals)).into()
}

macro_rules! columns {
    ($($name:literal: $cell:expr;)*) => {
        [$(RecordColumn { name: $name, cell: $cell }),*]
    };
}
pub(in crate::report) use columns;

fn text(words: impl Into<Message>) -> RecordCell {
    RecordCell::Text(words.into())
}

fn yes(yes: bool) -> RecordCell {
    RecordCell::Word(if yes { "yes" } else { "no" }.to_owned())
}

fn minutes(row: &Candidate, end: fn(Band) -> f64) -> RecordCell {
    plain_number(row.minutes.map(end), 2)
}

fn total(row: &Candidate, figure: fn(JobTotals) -> Band, end: fn(Band) -> f64) -> RecordCell {
    plain_number(row.totals.map(|totals| end(figure(totals))), 2)
}

const fn low(band: Band) -> f64 {
    band.low
}

const fn expected(band: Band) -> f64 {
    band.expected
}

const fn high(band: Band) -> f64 {
    band.high
}

/// Returns the columns of a comparison. In the order in which they came: new ones stand at the end.
pub(in crate::report) fn candidate_columns() -> [RecordColumn<Candidate>; 29] {
    columns! {
        "wire_mm": |row| RecordCell::Quantity(mm(row.wire_mm).fixed(4));
        "wire_kind": |row| text(row.wire_kind.as_str());
        "machine": |row| text(row.machine.as_str());
        "passes": |row| RecordCell::Word(words::passes(row));
        "feasible": |row| yes(row.feasible);
        "non_dominated": |row| yes(row.non_dominated);
        "chosen": |row| yes(row.chosen);
        "figures": |row| RecordCell::Word(words::figures(row.basis).to_owned());
        "minutes_low": |row| minutes(row, low);
        "minutes": |row| minutes(row, expected);
        "minutes_high": |row| minutes(row, high);
        "cost_low": |row| total(row, |totals| totals.cost_order, low);
        "cost": |row| total(row, |totals| totals.cost_order, expected);
        "cost_high": |row| total(row, |totals| totals.cost_order, high);
        "ra_um": |row| row.ra_um.map(|band| roughness_um(band.expected).fixed(4)).into();
        "accuracy_um": |row| row.accuracy_um.map(|error_um| um(error_um).fixed(2)).into();
        "accuracy_modelled_um": |row| row.accuracy_modelled_um.map(|error_um| um(error_um).fixed(2)).into();
        "min_inside_radius_mm": |row| row.min_inside_radius_mm.map(|radius_mm| mm(radius_mm).fixed(4)).into();
        "unreached_um": |row| row.unreached_um.map(|left_um| um(left_um).fixed(1)).into();
        "reasons": |row| text(shortfalls_in_words(&row.reasons));
        "machine_minutes": |row| total(row, |totals| totals.machine_minutes, expected);
        "piece_minutes": |row| total(row, |totals| totals.piece_minutes, expected);
        "order_minutes_low": |row| total(row, |totals| totals.order_minutes, low);
        "order_minutes": |row| total(row, |totals| totals.order_minutes, expected);
        "order_minutes_high": |row| total(row, |totals| totals.order_minutes, high);
        "cost_piece": |row| total(row, |totals| totals.cost_piece, expected);
        "price_indicative_low": |row| total(row, |totals| totals.price_indicative, low);
        "price_indicative": |row| total(row, |totals| totals.price_indicative, expected);
        "price_indicative_high": |row| total(row, |totals| totals.price_indicative, high);
    }
}
