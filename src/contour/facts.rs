//! What was found, and what was repaired, while contours were made. Checks turn these into findings.

use crate::geometry::Point;

use super::uses::StyleNotCut;

/// All of it, kind by kind. Curves are named by their index in the drawing.
#[derive(Clone, Debug, Default)]
pub struct Facts {
    /// Joints whose ends did not meet exactly and were brought together within the default join tolerance.
    pub merged_joints: usize,
    /// Largest distance of ends so brought together, mm.
    pub largest_merge_mm: f64,
    /// Gaps wider than the default join tolerance that were closed because the user asked for a wider one.
    pub gaps_closed: Vec<Gap>,
    /// Gaps that stay open: a loose end and the loose end nearest to it.
    pub gaps: Vec<Gap>,
    /// Curves that repeat another one, left out.
    pub duplicate_curves: Vec<DuplicateCurve>,
    /// Runs of very short pieces.
    pub crumbs: Vec<Crumbs>,
    /// Places where three or more ends meet.
    pub branches: Vec<Branch>,
    /// Curves left out of the cut for their linetype alone.
    pub styles_not_cut: Vec<StyleNotCut>,
}

/// Two loose ends near each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Distance between the ends, mm.
    pub size_mm: f64,
    /// One end.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// Their curves.
    pub curves: (usize, usize),
}

/// A curve that repeats another one of the same use within the join tolerance, in either direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DuplicateCurve {
    /// The curve left out.
    pub curve: usize,
    /// The curve kept.
    pub kept: usize,
}

/// Pieces no longer than the join tolerance, taken out of a contour: their two ends became one vertex.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crumbs {
    /// The first one's place.
    pub at: Point,
    /// How many.
    pub count: usize,
    /// Curve that the first belongs to.
    pub curve: usize,
}

/// A place where three or more ends meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// Where.
    pub at: Point,
    /// How many ends meet.
    pub ends: usize,
    /// Curves that meet, the first few.
    pub curves: Vec<usize>,
}
