//! Plane geometry: points, line and arc segments, polylines, bounds. Knows nothing of the trade or of files.
//!
//! Conventions: millimetres, radians, y up, counter-clockwise positive. An arc is held as its two ends and
//! its *bulge*, the tangent of a quarter of its sweep (positive: counter-clockwise), as in DXF group 42.

mod band;
pub mod bezier;
pub mod biarc;
mod bounds;
mod ellipse;
mod box_index;
mod centroid;
mod chords;
mod clearance;
mod congruence;
mod meet;
mod parallel;
mod point;
mod polyline;
pub mod quadrature;
pub mod refit;
mod segment;
mod segment_index;
pub mod spline;
mod stretch;
mod tangent_ball;

pub use bounds::Bounds;
pub use box_index::{BoxIndex, NearestStack, NodeLabels, STOP_SEARCH};
pub(crate) use chords::arcs_along;
pub use clearance::Parting;
pub use congruence::{FlatShape, ShapeSums};
pub use ellipse::EllipticArc;
pub use meet::{Meeting, meet};
pub use point::{Point, Vector};
pub use polyline::{Polyline, Vertex};
pub(crate) use segment::ArcCircle;
pub use segment::Segment;
pub use segment_index::{SegmentIndex, Trail};
pub(crate) use stretch::{loop_of, part_between, reversed_run};
pub use tangent_ball::ball_through;
