//! What the process takes for granted.

use crate::id::ContourId;
use crate::job::{StartOptions, WireOptions};
use crate::pass::Group;

/// What of the wire's options is taken for granted.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum ProcessAssumption {
    /// Outside corners of the path run sharp, else rolled.
    SharpCorners {
        /// How far from those of the contour, in offsets.
        limit: f64,
    },
    /// A start is asked of a contour that is not cut.
    StartNotUsed {
        /// Its number.
        contour: ContourId,
    },
}

/// Lists what of the wire's options is taken for granted.
pub(super) fn assumptions(running: &WireOptions, groups: &[Group]) -> Vec<ProcessAssumption> {
    let sharp = running.sharp_corners;
    let sharp = sharp.map(|limit| ProcessAssumption::SharpCorners { limit });
    let cut = |id: &ContourId| groups.iter().any(|group| group.contours.contains(id));
    let not_cut = running
        .starts
        .contours
        .iter()
        .filter(|(id, request)| **request != StartOptions::default() && !cut(id));
    let not_cut = not_cut.map(|(id, _)| ProcessAssumption::StartNotUsed { contour: *id });
    sharp.into_iter().chain(not_cut).collect()
}
