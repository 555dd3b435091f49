//! What is measured: the machine's own offsets on a test piece that is cut and gauged, which go into the shop's book, and how far the walls of finished
//! work drift off their targets; and what the room does to a part meanwhile.

mod control_chart;
mod uncertainty;
mod outlier;
mod readings;
mod half_kerf;
mod gauging;
mod fragment;
mod test_piece;
mod drift_log;
mod drift;
mod room_log;
mod thermal_lag;
mod room_drift;
mod wall_runs;
mod sizes;
mod probe_points;
#[cfg(test)]
mod tests;

pub use control_chart::{ControlLimits, moving_ranges};
pub use drift::{
    Baseline, Drift, DriftPoint, DriftSignal, FEWEST_POINTS, LimitState, OffsetChange, POINTS_TO_SETTLE,
    RUN_OF_POINTS, RecipeDrift, SignalRule, drift,
};
pub use drift_log::{DriftLog, DriftRecipe, WallReading, excess_mm, kind_word, read_drift_log};
pub use gauging::{FormError, GaugedPass, Gauging, gauging};
pub use half_kerf::{AxisHalfKerf, GaugedValue};
pub use outlier::OutlyingReading;
pub use probe_points::{
    NotProbed, PathTrace, PointsLeftOut, ProbeOptions, ProbePoint, WallTraces, probe_points,
};
pub use readings::{
    Across, Error, GaugedHeight, GaugedWall, InstrumentErrors, MeasuredSize, PieceFacts, ReadingFlaw,
    Readings, SizeReading, read_readings,
};
pub use room_drift::{
    BeyondRoom, LagSource, LengthDrift, PartInRoom, PartLag, RoomDrift, RoomPoint, room_drift,
};
pub use room_log::{RoomLog, RoomReading, minutes_of, read_room_log};
pub use sizes::{FinishedWall, GaugedSize, SizeKind, WallUncertainty, gauged_sizes};
pub use test_piece::{GaugingPlace, PieceOutline, TestPiece};
pub use thermal_lag::{FittedLag, fitted_lag, part_temperatures};
pub use uncertainty::{Uncertainty, UncertaintyTerm};
