//! Asks about what is to be cut across an edge that is there already, or where nothing is left to cut.

use std::collections::BTreeMap;

use super::open_cuts::{closed_trims, may_be_trim};
use super::scene::{as_nested, is_settled, turned};
use super::{OpenCases, QuestionKind};
use crate::contour::{Contour, NestView, Role, SideFrom, first_of_coincident};
use crate::id::ContourId;
use crate::job::Purpose;

/// Asks about closed curves to be cut that cross an edge that is not. Across one edge, twice, they mean a trim of it.
pub(super) fn crossing(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    let across = across_edges(found);
    let may_be_trims = across.keys().copied();
    let may_be_trims = may_be_trims.filter(|&id| may_be_trim(scene, scene.contour(id)));
    let mut trims: BTreeMap<_, _> = closed_trims(scene, &may_be_trims.collect()).into_iter().collect();
    for (id, edge) in across {
        if !found.is_free(id) {
            continue;
        }
        let contour = scene.contour(id);
        let case = if let Some(readings) = trims.remove(&id) {
            found.ask_open(QuestionKind::CrossesEdge, id, readings)
        } else {
            let readings = [
                vec![as_nested(contour)],
                vec![turned(contour)],
                vec![(id, Purpose::Reference)],
            ];
            found.ask(QuestionKind::CrossesEdge, &readings)
        };
        case.around = Some(scene.contour(edge).curves[0]);
    }
}

/// Lists the closed curves to be cut that cross an edge that is not, each with the first such edge.
fn across_edges(found: &OpenCases<'_>) -> BTreeMap<ContourId, ContourId> {
    let scene = found.scene;
    let mut across = BTreeMap::new();
    for contact in &scene.facts.edge_crossings {
        let (a, b) = contact.contours;
        let (a, b) = (scene.contour(a), scene.contour(b));
        let (contour, edge) = match (a.purpose, b.purpose) {
            (Purpose::Cut, Purpose::Existing | Purpose::NotNow) => (a, b),
            (Purpose::Existing | Purpose::NotNow, Purpose::Cut) => (b, a),
            _ => continue,
        };
        if contour.role != Role::Open && !is_settled(contour) && found.is_free(contour.id) {
            across.entry(contour.id).or_insert(edge.id);
        }
    }
    across
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
            let readings = [vec![as_nested(contour)], vec![(contour.id, there.purpose)]];
            found.ask(QuestionKind::OnEdge, &readings).around = Some(there.curves[0]);
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
        let readings = [vec![as_nested(contour)], vec![(contour.id, Purpose::Reference)]];
        found.ask(QuestionKind::InOpening, &readings).around = Some(around.curves[0]);
    }
}
