//! Why there is no verified path.

use super::verify::PathFault;
use crate::id::PassNo;

/// Why no path of a contour could be verified.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum RefusalReason {
    /// The contour is open, so it has no side to keep.
    Open,
    /// What is to be offset is not a loop.
    NoLoop,
    /// A coordinate of it is not a finite number.
    NotFinite,
    /// It encloses no area.
    NoArea,
    /// It crosses itself, so it has no side to keep.
    CrossesItself,
    /// The offset is too small to be verified, or no number.
    OffsetTooSmall {
        /// The offset, mm.
        offset_mm: f64,
    },
    /// No path passed the verifier; this is what was wrong with the first.
    NoneVerified(PathFault),
    /// Every attempt ended without a path.
    NoneFound,
    /// The rough pass has no room in a place that a skim enters.
    OnlySkimmed {
        /// The first pass that would enter it.
        first: PassNo,
    },
}
