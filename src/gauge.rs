//! The machine's own offsets: a test piece is cut and gauged, and what it says goes into the shop's book.

mod uncertainty;
mod outlier;
mod readings;
mod half_kerf;
mod gauging;
mod fragment;
mod test_piece;
#[cfg(test)]
mod tests;

pub use gauging::{FormError, GaugedPass, Gauging, gauging};
pub use half_kerf::{AxisHalfKerf, GaugedValue};
pub use outlier::OutlyingReading;
pub use readings::{
    Across, Error, GaugedHeight, GaugedWall, InstrumentErrors, MeasuredSize, PieceFacts, ReadingFlaw,
    Readings, SizeReading, read_readings,
};
pub use test_piece::{GaugingPlace, PieceOutline, TestPiece};
pub use uncertainty::{Uncertainty, UncertaintyTerm};
