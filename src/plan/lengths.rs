//! Computes the length of each pass.

use crate::estimate::PassLength;
use crate::id::{GroupId, PassNo};
use crate::pass::Group;
use crate::toolpath::{Toolpaths, WireLoop};

/// The length of each pass of each group; `None` where a contour of it cannot be cut as a whole: never smaller than the truth.
pub(super) fn path_lengths(groups: &[Group], toolpaths: &Toolpaths) -> Vec<PassLength> {
    let lacks = |group: &&Group| {
        let mut contours = group.contours.iter();
        contours.any(|&contour| toolpaths.incomplete(contour).is_some())
    };
    let lacking: Vec<GroupId> = groups.iter().filter(lacks).map(|group| group.group).collect();
    let mut lengths = ordered_lengths(groups, toolpaths);
    for length in lengths
        .iter_mut()
        .filter(|length| lacking.contains(&length.group))
    {
        length.path_length_mm = None;
    }
    lengths
}

/// The length of each pass of each group, as far as it stands in the order of cutting.
pub(super) fn ordered_lengths(groups: &[Group], toolpaths: &Toolpaths) -> Vec<PassLength> {
    let length = |group: GroupId, pass: PassNo| -> f64 {
        let of_pass = |l: &&WireLoop| (l.group, l.pass) == (group, pass);
        toolpaths.loops.iter().filter(of_pass).map(|l| l.length_mm).sum()
    };
    groups
        .iter()
        .flat_map(|group| group.passes.iter().map(move |pass| (group.group, pass.pass)))
        .map(|(group, pass)| PassLength {
            group,
            pass,
            path_length_mm: Some(length(group, pass)),
        })
        .collect()
}
