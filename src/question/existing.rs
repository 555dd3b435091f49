//! Asks about what is to be cut across an edge that is there already, or where nothing is left to cut.

use std::collections::BTreeMap;

use super::scene::{as_nested, is_settled, turned};
use super::{OpenCases, QuestionKind};
use crate::contour::{Contour, NestView, Role, SideFrom, first_of_coincident};
use crate::job::Purpose;

/// Asks about closed curves to be cut that cross an edge that is not.
pub(super) fn crossing(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    for contact in &scene.facts.edge_crossings {
        let (a, b) = contact.contours;
        let (a, b) = (scene.contour(a), scene.contour(b));
        let (contour, edge) = match (a.purpose, b.purpose) {
            (Purpose::Cut, Purpose::Existing | Purpose::NotNow) => (a, b),
            (Purpose::Existing | Purpose::NotNow, Purpose::Cut) => (b, a),
            _ => continue,
        };
        if contour.role == Role::Open || is_settled(contour) || !found.is_free(contour.id) {
            continue;
        }
        let readings = vec![
            vec![as_nested(contour)],
            vec![turned(contour)],
            vec![(contour.id, Purpose::Reference)],
        ];
        found.ask(QuestionKind::CrossesEdge, readings).around = Some(edge.curves[0]);
    }
}

/// Asks about closed curves to be cut that lie on an edge that is not.
pub(super) fn coincident(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    let edges: Vec<&Contour> = scene.edges().collect();
    let views: Vec<NestView<'_>> = edges.iter().map(|edge| NestView::of(edge)).collect();
    let mut on_one: BTreeMap<usize, Vec<&Contour>> = BTreeMap::new();
    for (edge, first) in edges.iter().zip(first_of_coincident(&views)) {
        on_one.entry(first).or_default().push(edge);
    }
    for edges in on_one.into_values().filter(|edges| edges.len() > 1) {
        let Some(there) = edges.iter().find(|edge| edge.purpose != Purpose::Cut) else {
            continue;
        };
        for contour in edges.iter().filter(|edge| edge.purpose == Purpose::Cut) {
            if is_settled(contour) || !found.is_free(contour.id) {
                continue;
            }
            let readings = vec![vec![as_nested(contour)], vec![(contour.id, there.purpose)]];
            found.ask(QuestionKind::OnEdge, readings).around = Some(there.curves[0]);
        }
    }
}

/// Asks about closed curves to be cut inside an opening that is there already.
pub(super) fn inside_openings(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    for contour in scene.cut() {
        let Some(around) = scene.around(contour) else {
            continue;
        };
        let in_air = around.purpose == Purpose::Existing && around.role == Role::Opening;
        if !in_air
            || is_settled(contour)
            || contour.side_from == SideFrom::Given
            || !found.is_free(contour.id)
        {
            continue;
        }
        let readings = vec![vec![as_nested(contour)], vec![(contour.id, Purpose::Reference)]];
        found.ask(QuestionKind::InOpening, readings).around = Some(around.curves[0]);
    }
}
