//! The six figures that every output gives of a job, each with one meaning.

use super::cost::CostBreakdown;
use super::time::Time;
use crate::units::Band;

/// What a job takes and costs.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct JobTotals {
    /// All that is drawn, cut once, takes the machine so many minutes; set-up is left aside.
    pub machine_minutes: Band,
    /// One piece takes the machine so many minutes: the machine minutes over the pieces drawn.
    pub piece_minutes: Band,
    /// The order takes the machine so many minutes: all pieces, set-ups and changes of spools.
    pub order_minutes: Band,
    /// One piece costs so much beside the fixed part, in the currency of the book.
    pub cost_piece: Band,
    /// The order costs so much: the fixed part and all pieces.
    pub cost_order: Band,
    /// Price of the order with margin, at least the minimum charge; to be checked before it is offered.
    pub price_indicative: Band,
}

impl JobTotals {
    /// Gathers them.
    pub fn of(time: &Time, costs: &CostBreakdown) -> Self {
        let machine_minutes = time.machine_minutes.value;
        Self {
            machine_minutes,
            piece_minutes: machine_minutes.scaled((costs.order.drawn.max(1) as f64).recip()),
            order_minutes: costs.totals.machine_minutes.value,
            cost_piece: costs.cost_piece.value,
            cost_order: costs.cost.value,
            price_indicative: costs.price.value,
        }
    }
}
