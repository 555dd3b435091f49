//! Plane geometry: points, line and arc segments, polylines, bounds. Knows nothing of the trade or of files.
//!
//! Conventions: millimetres, radians, y up, counter-clockwise positive. An arc is held as its two ends and
//! its *bulge*, the tangent of a quarter of its sweep (positive: counter-clockwise), as in DXF group 42.

pub mod biarc;
mod bounds;
mod ellipse;
mod box_index;
mod point;
mod polyline;
pub mod quadrature;
mod segment;

pub use bounds::Bounds;
pub use ellipse::EllipticArc;
pub use box_index::{BoxIndex, NearestQueue};
pub use point::{Point, Vector};
pub use polyline::{Polyline, Vertex, winding_share};
pub use segment::Segment;
