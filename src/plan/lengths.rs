//! The length of each pass, and what engagement adds to it.

use std::collections::BTreeMap;

use crate::estimate::PassLength;
use crate::pass::Group;
use crate::path::{Paths, Refusal, WireLoop};

/// The length of each pass of each group; `None` where a path of it was refused.
pub(super) fn path_lengths(groups: &[Group], paths: &Paths) -> Vec<PassLength> {
    let length = |group: &Group, pass: usize| {
        let refused = |r: &Refusal| r.pass == pass && group.contours.contains(&r.contour);
        let of_pass = |l: &&WireLoop| (l.group, l.pass) == (group.group, pass);
        let sum = || paths.loops.iter().filter(of_pass).map(|l| l.length_mm).sum();
        (!paths.refusals.iter().any(refused)).then(sum)
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

/// What each skim meets beyond what it is meant to, as path length that would take as long; where it meets less it
/// is not credited.
pub(super) fn engagement(paths: &Paths) -> Vec<PassLength> {
    let mut sums: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    for path in &paths.loops {
        let segments = path.polyline.segments().zip(&path.engagement);
        let extra_mm: f64 = segments
            .map(|(segment, met)| segment.length() * (met.factor - 1.0).max(0.0))
            .sum();
        *sums.entry((path.group, path.pass)).or_default() += extra_mm;
    }
    sums.into_iter()
        .map(|((group, pass), mm)| PassLength {
            group,
            pass,
            path_length_mm: Some(mm),
        })
        .collect()
}
