//! Plane geometry: points, line and arc segments, polylines, bounds. Knows nothing of the trade or of files.
//!
//! Conventions: millimetres, radians, y up, counter-clockwise positive. An arc is held as its two ends and
//! its *bulge*, the tangent of a quarter of its sweep (positive: counter-clockwise), as in DXF group 42.

mod bounds;
mod clearance;
mod point;
mod polyline;
mod segment;
mod segment_index;

pub use bounds::Bounds;
pub use point::{Point, Vector};
pub use polyline::{Polyline, Vertex};
pub use segment::Segment;
pub use segment_index::SegmentIndex;
