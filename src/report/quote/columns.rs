//! The columns of a table of quotes.

use super::QuoteRow;
use crate::message::{Message, mm, mm2};
use crate::report::view::{RecordCell, RecordColumn, columns, plain_number};

fn text(words: &str) -> RecordCell {
    RecordCell::Text(Message::from(words))
}

fn count(count: Option<usize>) -> RecordCell {
    count.map_or(RecordCell::Empty, |count| RecordCell::Word(count.to_string()))
}

fn length(length_mm: Option<f64>) -> RecordCell {
    length_mm.map(|length_mm| mm(length_mm).fixed(4)).into()
}

fn area(area_mm2: Option<f64>) -> RecordCell {
    area_mm2.map(|area_mm2| mm2(area_mm2).fixed(2)).into()
}

/// Returns the columns, in the order in which they came: new ones stand at the end.
pub(super) fn quote_columns() -> [RecordColumn<QuoteRow>; 37] {
    columns! {
        "file": |row| text(&row.file);
        "status": |row| RecordCell::Word(row.status.word().to_owned());
        "reason": |row| RecordCell::Text(row.reason.clone());
        "perimeter_mm": |row| length(row.perimeter_mm);
        "cut_area_mm2": |row| area(row.cut_area_mm2);
        "pass_area_mm2": |row| area(row.pass_area_mm2);
        "wire_mm": |row| length(row.wire_mm);
        "passes": |row| RecordCell::Word(row.passes.clone());
        "minutes_low": |row| plain_number(row.minutes_low, 2);
        "minutes": |row| plain_number(row.minutes, 2);
        "minutes_high": |row| plain_number(row.minutes_high, 2);
        "cost_fixed": |row| plain_number(row.cost_fixed, 2);
        "cost_each_low": |row| plain_number(row.cost_each_low, 2);
        "cost_each": |row| plain_number(row.cost_each, 2);
        "cost_each_high": |row| plain_number(row.cost_each_high, 2);
        "worst_finding": |row| text(&row.worst_finding);
        "assumptions": |row| text(&row.assumptions);
        "thickness_mm": |row| length(row.thickness_mm);
        "material": |row| text(&row.material);
        "quantity": |row| count(row.quantity);
        "currency": |row| text(&row.currency);
        "confidence": |row| text(&row.confidence);
        "key": |row| RecordCell::Word(row.key.clone());
        "parts": |row| RecordCell::Word(row.parts.clone());
        "pieces_drawn": |row| count(row.pieces_drawn);
        "cost_piece": |row| plain_number(row.cost_piece, 2);
        "machine_minutes": |row| plain_number(row.machine_minutes, 2);
        "piece_minutes": |row| plain_number(row.piece_minutes, 2);
        "order_minutes_low": |row| plain_number(row.order_minutes_low, 2);
        "order_minutes": |row| plain_number(row.order_minutes, 2);
        "order_minutes_high": |row| plain_number(row.order_minutes_high, 2);
        "cost_order_low": |row| plain_number(row.cost_order_low, 2);
        "cost_order": |row| plain_number(row.cost_order, 2);
        "cost_order_high": |row| plain_number(row.cost_order_high, 2);
        "price_indicative_low": |row| plain_number(row.price_indicative_low, 2);
        "price_indicative": |row| plain_number(row.price_indicative, 2);
        "price_indicative_high": |row| plain_number(row.price_indicative_high, 2);
    }
}
