//! What is measured on finished work: how far the walls drift off their targets from piece to piece.

mod control_chart;
mod drift;
mod drift_log;
mod probe_points;
mod sizes;
mod wall_runs;

pub use control_chart::{ControlLimits, moving_ranges};
pub use drift::{
    Baseline, Drift, DriftPoint, DriftSignal, FEWEST_POINTS, LimitState, OffsetChange, POINTS_TO_SETTLE,
    RUN_OF_POINTS, RecipeDrift, SignalRule, drift,
};
pub use drift_log::{DriftLog, DriftRecipe, WallReading, excess_mm, kind_word, read_drift_log};
pub use probe_points::{
    NotProbed, PathTrace, PointsLeftOut, ProbeOptions, ProbePoint, WallTraces, probe_points,
};
pub use sizes::{FinishedWall, GaugedSize, SizeKind, WallUncertainty, gauged_sizes};
