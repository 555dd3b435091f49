//! Time, wire, cost and accuracy from path lengths and pass rows. Every figure has its terms. Knows nothing of
//! pictures.

mod cut;
mod time;
mod cost;
mod accuracy;
mod wire_bow;
mod job_log;
mod robust_line;
mod student;
mod calibrate;
mod whole;
#[cfg(test)]
mod tests;

pub use accuracy::{Accuracy, AccuracyInput, BudgetTerm, COVERAGE_K, Verdict, accuracy, share_of_swing};
pub use calibrate::{Calibrated, FEWEST_JOBS, NoFit, RateFit, WELL_TOLD_PERCENT, calibrate};
pub use cost::{CostBreakdown, Order, confidence, costs};
pub use cut::{Cut, CutGroup, CutRow, PassLength, cut};
pub use job_log::{LogFlaw, LogJob, read_log};
pub use time::{AuxiliaryWork, Presence, StartHoles, Time, TimeTerm, arc_extra_mm, time};
pub use whole::{Estimate, EstimateInput, GroupQuality, estimate};
pub use wire_bow::{WireBow, arc_error_mm, wire_bow};
