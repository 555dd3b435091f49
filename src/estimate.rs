//! Time, wire, cost and accuracy from path lengths and pass rows. Every figure has its terms. Knows nothing of
//! pictures.

mod cut;
#[cfg(test)]
mod tests;

pub use cut::{Cut, CutGroup, CutRow, PassLength, cut};
