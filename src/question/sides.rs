//! Asks for sides that hang on what was given: for many contours at once, or of the curves around them.

use std::collections::BTreeMap;

use super::circles::looks_like_pitch_circle;
use super::frame::sign_of_line;
use super::scene::{Circle, Scene, as_nested, is_settled, turned};
use super::{Found, QuestionCase, QuestionKind};
use crate::contour::{Contour, Enclosing, NestView, PurposeFrom, Role, SideFrom, shows_no_edge};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::{ALIKE_MM, CONCENTRIC_MM};

/// Asks about contours whose curves are given both sides by different rules.
pub(super) fn given_both(found: &mut Found<'_>) {
    let scene = found.scene;
    for contour in scene.cut().filter(|contour| contour.side_from == SideFrom::Unclear) {
        if found.is_free(contour.id) {
            ask_side(found, QuestionKind::GivenBothSides, vec![contour.id], None);
        }
    }
}

/// Asks about contours that lie inside others for which the same rule gives a side, and would have the other when nested.
pub(super) fn several_within_one(found: &mut Found<'_>) {
    let scene = found.scene;
    let mut within: BTreeMap<ContourId, Vec<&Contour>> = BTreeMap::new();
    for contour in scene.cut() {
        let nested_otherwise = contour.ruled_side.is_some_and(|side| side != contour.role);
        if contour.side_from == SideFrom::Drawn && nested_otherwise && found.is_free(contour.id) {
            within.entry(outermost_ruled(scene, contour)).or_default().push(contour);
        }
    }
    for (outermost, inner) in within {
        let outermost = as_nested(scene.contour(outermost));
        let nested = inner.iter().map(|contour| as_nested(contour));
        let as_given = inner.iter().map(|contour| turned(contour));
        let readings = vec![
            std::iter::once(outermost).chain(nested).collect(),
            std::iter::once(outermost).chain(as_given).collect(),
        ];
        let inner = inner.iter().map(|contour| contour.id);
        let case = QuestionCase {
            contours: std::iter::once(outermost.0).chain(inner).collect(),
            ..QuestionCase::default()
        };
        found.ask(QuestionKind::SeveralWithinOne, case, readings);
    }
}

/// Returns the number of the outermost contour around one whose side a rule gives.
fn outermost_ruled(scene: &Scene<'_>, contour: &Contour) -> ContourId {
    let mut outermost = contour.id;
    let mut around = scene.around(contour);
    while let Some(edge) = around {
        if edge.ruled_side.is_some() {
            outermost = edge.id;
        }
        around = scene.around(edge);
    }
    outermost
}

/// Asks about equal contours directly inside an outline that is not cut: pieces out of it, or openings in it.
pub(super) fn pieces_or_openings(found: &mut Found<'_>) {
    let scene = found.scene;
    let not_cut = |edge: &&Contour| matches!(edge.purpose, Purpose::Existing | Purpose::NotNow) && edge.role == Role::Outside;
    for outline in scene.edges().filter(not_cut) {
        let inside = scene.directly_inside(outline.id).iter().map(|&id| scene.contour(id));
        let candidates = inside.filter(|contour| {
            contour.purpose == Purpose::Cut
                && contour.side_from == SideFrom::Drawn
                && !is_settled(contour)
                && scene.circle(contour.id).is_none()
                && found.is_free(contour.id)
        });
        let mut candidates: Vec<&Contour> = candidates.collect();
        candidates.sort_by(|a, b| a.perimeter_mm.total_cmp(&b.perimeter_mm));
        let groups = candidates.chunk_by(|a, b| is_alike(a, b));
        let mut alike: Vec<ContourId> = groups.filter(|group| group.len() > 1).flatten().map(|contour| contour.id).collect();
        alike.sort_unstable();
        if !alike.is_empty() {
            ask_side(found, QuestionKind::PiecesOrOpenings, alike, Some(outline.curves[0]));
        }
    }
}

/// Whether two contours are as long and as large as each other.
fn is_alike(a: &Contour, b: &Contour) -> bool {
    let along = ALIKE_MM * a.polyline.segment_count().max(b.polyline.segment_count()) as f64;
    (a.perimeter_mm - b.perimeter_mm).abs() <= along && (a.area_mm2 - b.area_mm2).abs() <= ALIKE_MM * a.perimeter_mm
}

/// Asks for the side of contours around which a closed curve is given as one that bounds nothing, unless the drawing itself
/// shows that it is none.
pub(super) fn turned_round(found: &mut Found<'_>) {
    let scene = found.scene;
    let given = scene.list.iter().filter(|c| c.polyline.closed && bounds_nothing(c.purpose) && !is_of_the_drawing(c));
    let lines: Vec<NestView<'_>> = given
        .map(NestView::of)
        .chain(scene.left_out.iter().map(NestView::of_left_out))
        .filter(|line| !shows_no_edge(scene.drawing, line.curve))
        .filter(|line| sign_of_line(scene, *line).is_none() && !looks_like_pitch_circle(scene, *line))
        .collect();
    if lines.is_empty() {
        return;
    }
    let mut enclosing = Enclosing::new(lines.clone());
    let mut cut: Vec<&Contour> = scene.cut().filter(|contour| contour.side_from == SideFrom::Drawn).collect();
    cut.sort_by_key(|contour| contour.depth);
    let mut turned: BTreeMap<usize, Vec<ContourId>> = BTreeMap::new();
    let mut hanging = vec![false; scene.list.len()];
    for contour in cut {
        let within_mm2 = scene.around(contour).map_or(f64::INFINITY, |around| around.area_mm2);
        let around = enclosing.of(NestView::of(contour)).into_iter().map(|i| lines[i]);
        let around = around.filter(|line| line.area_mm2 < within_mm2 && !is_concentric(scene, *line, contour));
        let nearest = around.min_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
        let Some(nearest) = nearest.filter(|_| found.is_free(contour.id) && !hanging[contour.id.index()]) else {
            continue;
        };
        turned.entry(nearest.curve).or_default().push(contour.id);
        for id in scene.following(&[contour.id]) {
            hanging[id.index()] = true;
        }
    }
    for (around, contours) in turned {
        ask_side(found, QuestionKind::SideTurned, contours, Some(around));
    }
}

/// Whether curves of this purpose would be edges if they were not given it.
fn bounds_nothing(purpose: Purpose) -> bool {
    matches!(purpose, Purpose::Reference | Purpose::Frame | Purpose::Blank | Purpose::Ignore)
}

/// Whether its purpose comes from the drawing itself.
fn is_of_the_drawing(contour: &Contour) -> bool {
    matches!(contour.purpose_from, PurposeFrom::LineStyle | PurposeFrom::Repeats)
}

fn is_concentric(scene: &Scene<'_>, line: NestView<'_>, contour: &Contour) -> bool {
    let circles = Circle::of(line).zip(scene.circle(contour.id));
    circles.is_some_and(|(a, b)| a.center.distance(b.center) <= CONCENTRIC_MM)
}

/// Asks which side of contours stays.
fn ask_side(found: &mut Found<'_>, kind: QuestionKind, contours: Vec<ContourId>, around: Option<usize>) {
    let scene = found.scene;
    let nested = contours.iter().map(|&id| as_nested(scene.contour(id))).collect();
    let other = contours.iter().map(|&id| turned(scene.contour(id))).collect();
    let case = QuestionCase {
        contours,
        around,
        ..QuestionCase::default()
    };
    found.ask(kind, case, vec![nested, other]);
}
