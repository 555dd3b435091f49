//! kerfwright reads a 2D DXF profile, checks it, computes the exact wire-offset path of every pass of a wire
//! EDM job, and estimates time and cost.

pub mod tolerance;
pub mod units;
pub mod geometry;
pub mod finding;
pub mod shop;
pub mod job;
pub mod dxf;
pub mod drawing;
pub mod contour;
pub mod pass;
pub mod path;
pub mod estimate;
pub mod check;
pub mod plan;
pub mod report;
pub mod cli;
