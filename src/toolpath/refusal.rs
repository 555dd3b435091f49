//! Why there is no verified path.

use super::verify::PathFault;
use crate::id::{ContourId, PassNo};

/// Why no path of a contour could be verified.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum RefusalReason {
    /// The contour is open, so it has no side to keep.
    Open,
    /// It is given as a slit and is closed.
    SlitClosed,
    /// Which side of an edge stays is not settled, so it is not known where material is.
    SideOpen {
        /// Number of that edge.
        contour: ContourId,
    },
    /// A slit meets nothing that is kept.
    MeetsNoMaterial,
    /// A slit runs along an edge.
    RunsAlongEdge {
        /// Number of that edge.
        contour: ContourId,
    },
    /// On its way out of the material the wire would cut what is kept.
    RunOutCutsWall {
        /// Number of the edge that it reaches.
        contour: ContourId,
    },
    /// A slit leaves the material at so flat an angle that its run-out would go on cutting.
    LeavesTooFlat,
    /// A slit lies in more than one of the parts that are cut out.
    SeveralParts,
    /// A slit ends in the material at both ends, without a hole to thread the wire at.
    NoPlaceToStart,
    /// Nothing tells where the material ends in which a slit ends.
    NoOutline,
    /// The kerf of a slit closes round a piece.
    KerfMeetsItself,
    /// A slit cuts a piece off.
    CutsPieceOff,
    /// A slit of a width cuts a piece off: with its first wall, rib and all.
    WideSlitParts,
    /// A slit of a width is too narrow for its passes.
    SlitNarrow {
        /// Its width, mm.
        width_mm: f64,
        /// The least that these passes leave room for, mm.
        needed_mm: f64,
    },
    /// The line of a slit of a width turns so tightly that it has no walls.
    SlitTurnsTooTight,
    /// A trim ends in the material.
    EndsInMaterial,
    /// A trim runs from one edge to another, so that nothing drops.
    PartsNothing,
    /// A trim crosses edges more than twice.
    CrossesEdgesAgain,
    /// A trim cuts the outline of a part that is cut out in the same job.
    TrimsCutPart {
        /// Number of that outline.
        contour: ContourId,
    },
    /// Which side of a trim stays is not given.
    KeptSideNotGiven,
    /// The place that a trim is to keep lies on neither side of it, or where no material is.
    KeepsElsewhere,
    /// What a trim is to keep is the small piece in the wall of an opening, and all the rest would be waste.
    WasteHasNoEnd,
    /// What a trim cuts off has a neck that the wire does not pass, or falls into several pieces.
    TrimSplits,
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
