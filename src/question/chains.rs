//! Asks about straight lines among what is to be cut that close nothing: centre marks, dimension lines, lines of a title block.

use std::collections::BTreeSet;

use super::scene::{as_nested, is_purpose_given};
use super::{OpenCases, QuestionKind};
use crate::contour::{Contour, Role};
use crate::job::Purpose;
use crate::tolerance::JOIN_MM;

/// Lists the straight lines to be cut that end near no other and are not asked about.
pub(super) fn straight_lines<'a>(found: &OpenCases<'a>) -> Vec<&'a Contour> {
    let scene = found.scene;
    let near_others: BTreeSet<usize> = scene
        .facts
        .gaps
        .iter()
        .flat_map(|gap| [gap.curves.0, gap.curves.1])
        .collect();
    let lines = scene
        .list
        .iter()
        .filter(|c| c.role == Role::Open && c.purpose == Purpose::Cut);
    let lines = lines.filter(|c| !c.branched && is_straight(c) && !is_purpose_given(c));
    let lines = lines.filter(|c| !c.curves.iter().any(|curve| near_others.contains(curve)));
    lines.filter(|c| found.is_free(c.id)).collect()
}

/// Asks about them, where anything else is to be cut.
pub(super) fn open_chains(found: &mut OpenCases<'_>) {
    if found.scene.cut().next().is_none() {
        return;
    }
    for line in straight_lines(found) {
        let readings = vec![vec![(line.id, Purpose::Reference)], vec![as_nested(line)]];
        found.ask(QuestionKind::OpenChain, readings);
    }
}

/// Whether it runs from end to end without a detour.
fn is_straight(contour: &Contour) -> bool {
    let vertices = &contour.polyline.vertices;
    let ends = vertices.first().zip(vertices.last());
    ends.is_some_and(|(a, b)| contour.perimeter_mm - a.at.distance(b.at) <= JOIN_MM)
}
