//! What may be wrong with a path.

use crate::geometry::Point;

/// What is wrong with a path, and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::toolpath) struct PathFlaw {
    /// Where.
    pub(in crate::toolpath) at: Point,
    /// What.
    pub(in crate::toolpath) fault: PathFault,
}

/// What may be wrong with a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum PathFault {
    /// Nearer to the contour than the offset.
    TooNear,
    /// Farther from the contour than the offset.
    TooFar,
    /// On the other side of the contour.
    WrongSide,
    /// Runs with the kept material on its right.
    Backwards,
    /// A place at the offset from the contour is not on the path.
    Missing,
    /// Runs twice along one line.
    Doubled,
    /// Crosses itself.
    Crosses,
}
