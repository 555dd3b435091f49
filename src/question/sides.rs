//! Asks for sides that hang on what was given: for many contours at once, or of the curves around them.

use std::collections::BTreeMap;

use super::circles::looks_like_pitch_circle;
use super::frame::sign_of_line;
use super::scene::{FullCircle, Scene, as_nested, is_purpose_given, is_settled, turned};
use super::{OpenCases, QuestionKind};
use crate::contour::{
    ClosedLine, Contour, Enclosing, NestView, PurposeFrom, Role, SideFrom, first_of_coincident, shows_no_edge,
};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::{ALIKE_MM, CONCENTRIC_MM};

/// Asks about contours whose curves are given both sides by different rules.
pub(super) fn given_both(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    for contour in scene
        .cut()
        .filter(|contour| contour.side_from == SideFrom::Unclear)
    {
        if found.is_free(contour.id) {
            ask_side(found, QuestionKind::GivenBothSides, &[contour.id], None);
        }
    }
}

/// Asks about contours that lie inside others for which the same rule gives a side, and would have the other when nested.
pub(super) fn several_within_one(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    let mut within: BTreeMap<ContourId, Vec<&Contour>> = BTreeMap::new();
    for contour in scene.cut() {
        let nested_otherwise = contour.ruled_side.is_some_and(|side| side != contour.role);
        if contour.side_from == SideFrom::Drawn && nested_otherwise && found.is_free(contour.id) {
            within
                .entry(outermost_ruled(scene, contour))
                .or_default()
                .push(contour);
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
        found.ask(QuestionKind::SeveralWithinOne, &readings);
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

/// Asks about a drawing of many equal contours with nothing around and nothing in them: parts, or openings in a plate that is not drawn.
pub(super) fn outline_missing(found: &mut OpenCases<'_>) {
    /// Fewer are drawn side by side as parts.
    const AT_LEAST: usize = 12;
    let scene = found.scene;
    if scene.edges().any(|edge| edge.parent.is_some()) {
        return;
    }
    let free = |contour: &&Contour| {
        contour.side_from == SideFrom::Drawn && !is_purpose_given(contour) && found.is_free(contour.id)
    };
    let mut candidates: Vec<&Contour> = scene.cut().filter(free).collect();
    candidates.sort_by(|a, b| a.perimeter_mm.total_cmp(&b.perimeter_mm));
    let groups = candidates
        .chunk_by(|a, b| is_alike(a, b))
        .filter(|group| group.len() >= AT_LEAST);
    let mut alike: Vec<ContourId> = groups.flatten().map(|contour| contour.id).collect();
    alike.sort_unstable();
    if !alike.is_empty() {
        ask_side(found, QuestionKind::OutlineMissing, &alike, None);
    }
}

/// Asks about equal contours directly inside an outline that is not cut: pieces out of it, or openings in it.
pub(super) fn pieces_or_openings(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    let not_cut = |edge: &&Contour| {
        matches!(edge.purpose, Purpose::Existing | Purpose::NotNow) && edge.role == Role::Outside
    };
    for outline in scene.edges().filter(not_cut) {
        let inside = scene
            .directly_inside(outline.id)
            .iter()
            .map(|&id| scene.contour(id));
        let candidates = inside.filter(|contour| {
            contour.purpose == Purpose::Cut
                && contour.side_from == SideFrom::Drawn
                && !is_settled(contour)
                && found.is_free(contour.id)
        });
        let alike = alike(scene, candidates.collect());
        if !alike.is_empty() {
            ask_side(
                found,
                QuestionKind::PiecesOrOpenings,
                &alike,
                Some(outline.curves[0]),
            );
        }
    }
}

/// Lists those of some contours that are no circles and of which there is more than one.
fn alike(scene: &Scene<'_>, mut candidates: Vec<&Contour>) -> Vec<ContourId> {
    candidates.retain(|contour| scene.circle(contour.id).is_none());
    candidates.sort_by(|a, b| a.perimeter_mm.total_cmp(&b.perimeter_mm));
    let groups = candidates.chunk_by(|a, b| is_alike(a, b));
    let alike = groups.filter(|group| group.len() > 1).flatten();
    let mut alike: Vec<ContourId> = alike.map(|contour| contour.id).collect();
    alike.sort_unstable();
    alike
}

/// Whether two contours are as long and as large as each other.
fn is_alike(a: &Contour, b: &Contour) -> bool {
    let along = ALIKE_MM * a.polyline.segment_count().max(b.polyline.segment_count()) as f64;
    (a.perimeter_mm - b.perimeter_mm).abs() <= along
        && (a.area_mm2 - b.area_mm2).abs() <= ALIKE_MM * a.perimeter_mm
}

/// Asks for the side of contours around which a closed curve is given as one that bounds nothing, unless the drawing itself
/// shows that it is none.
pub(super) fn turned_round(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    let given = scene
        .list
        .iter()
        .filter(|c| bounds_nothing(c.purpose) && !is_of_the_drawing(c));
    let (closed, open): (Vec<&Contour>, Vec<&Contour>) = given.partition(|c| c.polyline.closed);
    // What is meant as an edge and does not close bounds nothing either.
    let edges = scene
        .list
        .iter()
        .filter(|c| matches!(c.purpose, Purpose::Existing | Purpose::NotNow));
    let open = open.into_iter().chain(edges.filter(|c| c.role == Role::Open));
    let nearly: Vec<ClosedLine> = open
        .filter_map(|c| ClosedLine::of(c.polyline.clone(), c.curves[0]))
        .collect();
    let lines: Vec<NestView<'_>> = closed
        .into_iter()
        .map(NestView::of)
        .chain(scene.left_out.iter().chain(&nearly).map(NestView::of_left_out))
        .filter(|line| !shows_no_edge(scene.drawing, line.curve))
        .collect();
    let lines = beside_edges(scene, lines);
    if lines.is_empty() {
        return;
    }
    let mut no_edges = NoEdges::new(scene, &lines);
    let mut enclosing = Enclosing::new(lines.clone());
    let mut cut: Vec<&Contour> = scene
        .cut()
        .filter(|contour| contour.side_from == SideFrom::Drawn)
        .collect();
    cut.sort_by_key(|contour| contour.depth);
    let mut turned: BTreeMap<usize, Vec<ContourId>> = BTreeMap::new();
    let mut hanging = vec![false; scene.list.len()];
    for contour in cut {
        if !found.is_free(contour.id) || hanging[contour.id.index()] {
            continue;
        }
        // What lies around a contour whose side is given turns nothing inside it.
        let within_mm2 = given_around(scene, contour).map_or(f64::INFINITY, |around| around.area_mm2);
        let mut around = enclosing.of(NestView::of(contour));
        around.retain(|&i| lines[i].area_mm2 < within_mm2);
        let hangs_on = around.iter().copied().filter(|&i| !no_edges.shows(i, contour));
        let nearest = hangs_on.min_by(|&a, &b| lines[a].area_mm2.total_cmp(&lines[b].area_mm2));
        let Some(nearest) = nearest else { continue };
        turned.entry(nearest).or_default().push(contour.id);
        for id in scene.following(&[contour.id]) {
            hanging[id.index()] = true;
        }
    }
    for (around, contours) in turned {
        let line = lines[around];
        let is_blank = line
            .id
            .is_some_and(|id| scene.contour(id).purpose == Purpose::Blank);
        let candidates = contours
            .iter()
            .map(|&id| scene.contour(id))
            .filter(|_| is_blank)
            .collect();
        let pieces = alike(scene, candidates);
        let others: Vec<ContourId> = contours.into_iter().filter(|id| !pieces.contains(id)).collect();
        for (kind, contours) in [
            (QuestionKind::PiecesOrOpenings, pieces),
            (QuestionKind::SideTurned, others),
        ] {
            if !contours.is_empty() {
                ask_side(found, kind, &contours, Some(line.curve));
            }
        }
    }
}

/// Lists those of some lines that lie on no edge: one that does turns nothing.
fn beside_edges<'a>(scene: &Scene<'a>, lines: Vec<NestView<'a>>) -> Vec<NestView<'a>> {
    let edges: Vec<NestView<'_>> = scene.edges().map(NestView::of).collect();
    let all: Vec<NestView<'_>> = edges.iter().chain(&lines).copied().collect();
    let first = first_of_coincident(&all);
    let on_edge = first[edges.len()..].iter().map(|&first| first < edges.len());
    let lines = lines.into_iter().zip(on_edge);
    lines
        .filter(|(_, on_edge)| !on_edge)
        .map(|(line, _)| line)
        .collect()
}

/// Returns the nearest contour around one whose side is given.
fn given_around<'a>(scene: &Scene<'a>, contour: &Contour) -> Option<&'a Contour> {
    let around = std::iter::successors(scene.around(contour), |edge| scene.around(edge));
    around.into_iter().find(|edge| edge.side_from == SideFrom::Given)
}

/// Which closed lines the drawing itself shows to be no edge.
struct NoEdges<'a> {
    scene: &'a Scene<'a>,
    lines: &'a [NestView<'a>],
    /// Whether a line alone shows it, once looked at.
    alone: Vec<Option<bool>>,
}

impl<'a> NoEdges<'a> {
    fn new(scene: &'a Scene<'a>, lines: &'a [NestView<'a>]) -> Self {
        Self {
            scene,
            lines,
            alone: vec![None; lines.len()],
        }
    }

    /// Whether line `i` around a contour is a frame, a pitch circle or a counterbore.
    fn shows(&mut self, i: usize, contour: &Contour) -> bool {
        let (scene, line) = (self.scene, self.lines[i]);
        let looks = || sign_of_line(scene, line).is_some() || looks_like_pitch_circle(scene, line);
        // In a plate alone is the outer one of two circles a counterbore; elsewhere it is the outside of a ring.
        let in_plate = contour.parent.is_some() && contour.role == Role::Opening;
        *self.alone[i].get_or_insert_with(looks) || (in_plate && is_concentric(scene, line, contour))
    }
}

/// Whether curves of this purpose would be edges if they were not given it.
fn bounds_nothing(purpose: Purpose) -> bool {
    matches!(
        purpose,
        Purpose::Reference | Purpose::Frame | Purpose::Blank | Purpose::Ignore
    )
}

/// Whether its purpose comes from the drawing itself.
fn is_of_the_drawing(contour: &Contour) -> bool {
    matches!(
        contour.purpose_from,
        PurposeFrom::LineStyle | PurposeFrom::Repeats
    )
}

fn is_concentric(scene: &Scene<'_>, line: NestView<'_>, contour: &Contour) -> bool {
    let circles = FullCircle::of(line).zip(scene.circle(contour.id));
    circles.is_some_and(|(a, b)| a.center.distance(b.center) <= CONCENTRIC_MM)
}

/// Asks which side of contours stays.
fn ask_side(found: &mut OpenCases<'_>, kind: QuestionKind, contours: &[ContourId], around: Option<usize>) {
    let scene = found.scene;
    let nested = contours.iter().map(|&id| as_nested(scene.contour(id))).collect();
    let other = contours.iter().map(|&id| turned(scene.contour(id))).collect();
    found.ask(kind, &[nested, other]).around = around;
}
