//! Computes the length of each pass.

use crate::estimate::PassLength;
use crate::id::PassNo;
use crate::pass::Group;
use crate::toolpath::{PathRefusal, Toolpaths, WireLoop};

/// The length of each pass of each group; `None` where a path of it was refused.
pub(super) fn path_lengths(groups: &[Group], toolpaths: &Toolpaths) -> Vec<PassLength> {
    let length = |group: &Group, pass: PassNo| {
        let refused = |r: &PathRefusal| r.pass == pass && group.contours.contains(&r.contour);
        let of_pass = |l: &&WireLoop| (l.group, l.pass) == (group.group, pass);
        let sum = || toolpaths.loops.iter().filter(of_pass).map(|l| l.length_mm).sum();
        (!toolpaths.refusals.iter().any(refused)).then(sum)
    };
    groups
        .iter()
        .flat_map(|group| group.passes.iter().map(move |pass| (group, pass.pass)))
        .map(|(group, pass)| PassLength {
            group: group.group,
            pass,
            path_length_mm: length(group, pass),
        })
        .collect()
}
