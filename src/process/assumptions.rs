//! What the process takes for granted, in words.

use crate::id::ContourId;
use crate::job::{StartOptions, WireOptions};
use crate::pass::Group;

/// Says in words what of the wire's options stands at the top of every output.
pub(super) fn assumptions(running: &WireOptions, groups: &[Group]) -> Vec<String> {
    let sharp = running.sharp_corners.map(|limit| {
        format!("outside corners of the path run sharp up to {limit} offsets from those of the contour, else rolled")
    });
    let cut = |id: &ContourId| groups.iter().any(|group| group.contours.contains(id));
    let not_cut = running
        .starts
        .contours
        .iter()
        .filter(|(id, request)| **request != StartOptions::default() && !cut(id));
    let not_cut = not_cut.map(|(id, _)| format!("contour {id}, of which a start is asked, is not cut"));
    sharp.into_iter().chain(not_cut).collect()
}
