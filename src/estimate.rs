//! Time, wire, cost and accuracy from path lengths and pass rows. Every figure has its terms. Knows nothing of
//! pictures.

mod cut;
mod time;
mod cost;
mod accuracy;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod time_tests;
#[cfg(test)]
mod accuracy_tests;

pub use accuracy::{Accuracy, BudgetTerm, COVERAGE_K, Occasion, OffsetIs, Verdict, accuracy, share_of_swing};
pub use cost::{Ledger, Order, confidence, ledger};
pub use cut::{Cut, CutGroup, CutRow, PassLength, cut};
pub use time::{Presence, StartHoles, Time, TimeTerm, Work, arc_extra_mm, time};
