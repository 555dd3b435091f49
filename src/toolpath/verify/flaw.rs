//! What may be wrong with a path.

use crate::geometry::Point;

/// What is wrong with a path, and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::toolpath) struct PathFlaw {
    /// Where.
    pub(in crate::toolpath) at: Point,
    /// What.
    pub(in crate::toolpath) fault: Fault,
}

/// What may be wrong with a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::toolpath) enum Fault {
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

impl Fault {
    /// In words, for "the path …".
    pub(in crate::toolpath) fn words(self) -> &'static str {
        match self {
            Self::TooNear => "comes nearer to the contour than the offset",
            Self::TooFar => "strays farther from the contour than the offset",
            Self::WrongSide => "lies on the wrong side of the contour",
            Self::Backwards => "runs the wrong way round",
            Self::Missing => "leaves out a place that the wire can reach",
            Self::Doubled => "runs twice along the same line",
            Self::Crosses => "crosses itself",
        }
    }
}
