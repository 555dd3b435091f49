use super::{QuoteRow, Status};
use crate::message::Message;

/// What the rows of a table come to.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Sums {
    /// Rows that are planned.
    pub planned: usize,
    /// Rows where nothing meets the requirements.
    pub nearest: usize,
    /// Rows whose drawing leaves something open.
    pub to_be_settled: usize,
    /// Rows that are refused.
    pub refused: usize,
    /// Rows whose worst finding is an error, but for those to be settled.
    pub with_errors: usize,
    /// Pieces of all rows that have a cost.
    pub pieces: usize,
    /// Minutes that all orders take the machine: low, expected, high.
    pub minutes: [f64; 3],
    /// Cost of all orders: low, expected, high.
    pub cost: [f64; 3],
    /// Currency of the cost; `None` where the rows have several.
    pub currency: Option<String>,
    /// File and reason of each row that has one.
    pub reasons: Vec<(String, Message)>,
}

impl Sums {
    /// Takes a row in.
    pub fn add(&mut self, row: &QuoteRow) {
        match row.status {
            Status::Planned => self.planned += 1,
            Status::Nearest => self.nearest += 1,
            Status::ToBeSettled => self.to_be_settled += 1,
            Status::Refused => self.refused += 1,
        }
        if !row.reason.is_empty() {
            self.reasons.push((row.file.clone(), row.reason.clone()));
        }
        let settled = row.status != Status::ToBeSettled;
        self.with_errors += usize::from(settled && row.worst_finding.starts_with("error"));
        let minutes = [row.order_minutes_low, row.order_minutes, row.order_minutes_high];
        let cost = [row.cost_order_low, row.cost_order, row.cost_order_high];
        let (Some(_), Some(quantity)) = (row.cost_order, row.quantity) else {
            return;
        };
        if self.pieces == 0 {
            self.currency = Some(row.currency.clone());
        } else if self.currency.as_ref() != Some(&row.currency) {
            self.currency = None;
        }
        self.pieces += quantity;
        let sums = self.minutes.iter_mut().zip(minutes);
        for (sum, value) in sums.chain(self.cost.iter_mut().zip(cost)) {
            *sum += value.unwrap_or_default();
        }
    }

    /// Returns all rows.
    pub fn rows(&self) -> usize {
        self.planned + self.nearest + self.to_be_settled + self.refused
    }
}
