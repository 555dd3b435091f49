//! Finds straight lines among what is to be cut that close nothing: centre marks, dimension lines, lines of a title block.

use std::collections::BTreeSet;

use super::OpenCases;
use super::scene::{Scene, is_purpose_given};
use crate::contour::{Contour, Role};
use crate::job::Purpose;
use crate::tolerance::JOIN_MM;

/// Lists the straight lines to be cut that end near no other and are not asked about.
pub(super) fn straight_lines<'a>(found: &OpenCases<'a>) -> Vec<&'a Contour> {
    let scene = found.scene;
    let near_others = near_others(scene);
    let lines = scene
        .list
        .iter()
        .filter(|c| c.role == Role::Open && c.purpose == Purpose::Cut);
    let lines = lines.filter(|c| !c.branched && is_straight(c) && !is_purpose_given(c));
    let lines = lines.filter(|c| !c.curves.iter().any(|curve| near_others.contains(curve)));
    lines.filter(|c| found.is_free(c.id)).collect()
}

/// Returns the curves that end near others: gaps of an outline.
pub(super) fn near_others(scene: &Scene<'_>) -> BTreeSet<usize> {
    let gaps = scene.facts.gaps.iter();
    gaps.flat_map(|gap| [gap.curves.0, gap.curves.1]).collect()
}

/// Whether it runs from end to end without a detour.
fn is_straight(contour: &Contour) -> bool {
    let vertices = &contour.polyline.vertices;
    let ends = vertices.first().zip(vertices.last());
    ends.is_some_and(|(a, b)| contour.perimeter_mm - a.at.distance(b.at) <= JOIN_MM)
}
