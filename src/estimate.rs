//! Time, wire, cost and accuracy from path lengths and pass rows. Every figure has its terms. Knows nothing of
//! pictures.

mod cut;
mod time;
mod cost;
mod accuracy;
mod wire_bow;
mod whole;
#[cfg(test)]
mod tests;

pub use accuracy::{Accuracy, AccuracyInput, BudgetTerm, COVERAGE_K, Verdict, accuracy, share_of_swing};
pub use cost::{Confidence, CostBreakdown, Order, OrderRequest, costs};
pub use cut::{Cut, CutGroup, CutRow, PassLength, cut};
pub use time::{AuxiliaryWork, PacedMinutes, Presence, StartHoles, Time, TimeTerm, arc_extra_mm, time};
pub use whole::{Estimate, EstimateInput, GroupQuality, estimate};
pub use wire_bow::{WireBow, arc_error_mm, wire_bow};
