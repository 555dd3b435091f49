use super::{QuoteRow, Status};

/// What the rows of a table come to.
#[derive(Clone, Debug, Default, PartialEq)]
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
    /// Minutes that all pieces hold the machine: low, expected, high.
    pub minutes: [f64; 3],
    /// Cost of all orders: low, expected, high; the fixed part counts as expected.
    pub cost: [f64; 3],
    /// Currency of the cost; `None` where the rows have several.
    pub currency: Option<String>,
    /// File and reason of each row that has one.
    pub reasons: Vec<(String, String)>,
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
        let minutes = [row.minutes_low, row.minutes, row.minutes_high];
        let each = [row.cost_each_low, row.cost_each, row.cost_each_high];
        let (Some(fixed), Some(quantity)) = (row.cost_fixed, row.quantity) else {
            return;
        };
        if self.pieces == 0 {
            self.currency = Some(row.currency.clone());
        } else if self.currency.as_ref() != Some(&row.currency) {
            self.currency = None;
        }
        self.pieces += quantity;
        // Minutes and cost stand for all that is drawn.
        let times = quantity as f64 / row.pieces_drawn.unwrap_or(1).max(1) as f64;
        for (sum, value) in self.minutes.iter_mut().zip(minutes) {
            *sum += value.unwrap_or_default() * times;
        }
        for (sum, value) in self.cost.iter_mut().zip(each) {
            *sum += fixed + value.unwrap_or_default() * times;
        }
    }

    /// Returns all rows.
    pub fn rows(&self) -> usize {
        self.planned + self.nearest + self.to_be_settled + self.refused
    }
}
