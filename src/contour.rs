//! Curves become contours: chained, oriented, nested, measured, arcs as arcs. Knows nothing of the wire.

use serde::Serialize;

use crate::geometry::{Bounds, Point, Polyline};
use crate::job::Use;

/// Which side of a contour is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Material inside is kept: the wire runs outside.
    Outside,
    /// Material outside is kept: the wire runs inside.
    Opening,
    /// No loop: nothing is kept.
    Open,
}

/// A contour.
#[derive(Clone, Debug)]
pub struct Contour {
    /// Number, from 1, stable for the same drawing.
    pub id: usize,
    /// Its line. A loop runs counter-clockwise whatever its role.
    pub polyline: Polyline,
    /// Indices of the curves it was chained from, in order.
    pub curves: Vec<usize>,
    /// Which side is kept.
    pub role: Role,
    /// What it is for.
    pub purpose: Use,
    /// How many contours of the same use enclose it.
    pub depth: usize,
    /// Number of the contour that encloses it directly.
    pub parent: Option<usize>,
    /// Length, mm.
    pub perimeter_mm: f64,
    /// Enclosed area, mm², positive; 0 when open.
    pub area_mm2: f64,
    /// Bounds, mm.
    pub bounds: Bounds,
    /// Smallest radius that the *wire* has to go round on the inside of (concave as seen from the wire's side);
    /// 0 for a sharp inside corner; `None` when there is none.
    pub min_inside_radius_mm: Option<f64>,
    /// Where that is.
    pub min_inside_radius_at: Option<Point>,
}

/// All contours of a drawing, and the facts found while making them.
#[derive(Clone, Debug, Default)]
pub struct Contours {
    /// The contours, in order of their numbers.
    pub list: Vec<Contour>,
    /// What was taken for granted, in words, for the top of every output.
    pub assumptions: Vec<String>,
}
