//! Time, wire, cost and accuracy from path lengths and pass rows. Every figure has its terms. Knows nothing of
//! pictures.

mod order;
mod cut;
mod time;
mod wire_use;
mod order_totals;
mod cost;
mod accuracy;
mod wire_bow;
mod totals;
mod whole;
#[cfg(test)]
mod tests;

pub use accuracy::{Accuracy, AccuracyInput, BudgetTerm, COVERAGE_K, Verdict, accuracy, share_of_swing};
pub use cost::{BlankMaterial, Confidence, CostBreakdown, costs};
pub use cut::{Cut, CutGroup, CutRow, PassLength, cut};
pub use order::{Order, OrderRequest};
pub use order_totals::OrderTotals;
pub use time::{AuxiliaryWork, PacedMinutes, Presence, StartHoles, Time, TimeTerm, arc_extra_mm, time};
pub use totals::JobTotals;
pub use whole::{Estimate, EstimateInput, GroupQuality, estimate};
pub use wire_bow::{WireBow, arc_error_mm, wire_bow};
pub use wire_use::WireUse;
