//! Asks about circles that are often drawn and seldom cut: pitch circles, counterbores, tapped holes, start holes; and about what
//! the linetype shows to be no edge.

use std::collections::BTreeMap;

use super::name_words::{Meaning, means};
use super::scene::{FullCircle, Scene, as_nested, is_purpose_given, is_settled};
use super::{OpenCases, QuestionKind};
use crate::contour::{Contour, NestView, PurposeFrom, Role, SideFrom};
use crate::geometry::{Bounds, BoxIndex, Point};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::CONCENTRIC_MM;

/// A circle passes through the teeth of a wheel if it crosses its contour at least this often.
const CROSSES_TEETH: usize = 6;

/// Sweep of the arc that shows a thread (ISO 6410-1: about three quarters of a circle), degrees.
const THREAD_SWEEP_DEG: std::ops::RangeInclusive<f64> = 250.0..=290.0;

/// Asks about closed curves that are left out for their linetype alone.
pub(super) fn line_styles(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    let styled = scene
        .list
        .iter()
        .filter(|c| c.purpose_from == PurposeFrom::LineStyle && c.polyline.closed);
    for contour in styled {
        let (kind, purpose) = if means(scene.linetype(contour), Meaning::Frame) {
            (QuestionKind::FrameOrPart, Purpose::Frame)
        } else {
            (QuestionKind::LineStyle, Purpose::Reference)
        };
        found.ask(
            kind,
            &[vec![(contour.id, purpose)], vec![(contour.id, Purpose::Cut)]],
        );
    }
}

/// Asks about circles through the centres of equal circles, or across the teeth of a wheel.
pub(super) fn pitch_circles(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    for id in pitch_circle_ids(scene) {
        let contour = scene.contour(id);
        if is_settled(contour) || !found.is_free(id) {
            continue;
        }
        let readings = [vec![as_nested(contour)], vec![(id, Purpose::Reference)]];
        found.ask(QuestionKind::PitchCircle, &readings);
    }
}

/// Lists the numbers of the edges that are pitch circles by what they cross.
fn pitch_circle_ids(scene: &Scene<'_>) -> Vec<ContourId> {
    let mut crossed: BTreeMap<ContourId, BTreeMap<ContourId, usize>> = BTreeMap::new();
    for contact in scene.facts.crossings.iter().chain(&scene.facts.edge_crossings) {
        let (a, b) = contact.contours;
        for (of, by) in [(a, b), (b, a)] {
            if scene.circle(of).is_some() {
                *crossed.entry(of).or_default().entry(by).or_default() += 1;
            }
        }
    }
    let is_pitch = |id: ContourId, others: &BTreeMap<ContourId, usize>| {
        let Some(circle) = scene.circle(id) else {
            return false;
        };
        let on_it = others.keys().filter_map(|&other| scene.circle(other));
        let mut on_it: Vec<f64> = on_it
            .filter(|hole| passes_through(circle, hole.center))
            .map(|hole| hole.radius_mm)
            .collect();
        on_it.sort_by(f64::total_cmp);
        let two_alike = on_it.windows(2).any(|pair| pair[1] - pair[0] <= CONCENTRIC_MM);
        let across_teeth = others.iter().any(|(&other, &times)| {
            let wheel = scene.contour(other).bounds.center();
            times >= CROSSES_TEETH && wheel.distance(circle.center) < circle.radius_mm / CROSSES_TEETH as f64
        });
        two_alike || across_teeth
    };
    let pitch = crossed.iter().filter(|(id, others)| is_pitch(**id, others));
    pitch.map(|(&id, _)| id).collect()
}

fn passes_through(circle: FullCircle, p: Point) -> bool {
    (circle.center.distance(p) - circle.radius_mm).abs() <= CONCENTRIC_MM
}

/// Whether a circle that is no edge, by what was given, looks like a pitch circle: circles to be cut stand on it, or it lies across
/// teeth.
pub(super) fn looks_like_pitch_circle(scene: &Scene<'_>, line: NestView<'_>) -> bool {
    let Some(circle) = FullCircle::of(line) else {
        return false;
    };
    let near = scene.centers.around(line.bounds, CONCENTRIC_MM);
    let near = near.into_iter().map(|i| scene.contour(scene.centered[i]));
    let near: Vec<&Contour> = near.collect();
    let holes = near.iter().filter_map(|edge| scene.circle(edge.id));
    let mut radii: Vec<f64> = holes
        .filter(|hole| passes_through(circle, hole.center))
        .map(|hole| hole.radius_mm)
        .collect();
    radii.sort_by(f64::total_cmp);
    if radii.windows(2).any(|pair| pair[1] - pair[0] <= CONCENTRIC_MM) {
        return true;
    }
    let mut wheels = near.into_iter().filter(|edge| {
        edge.bounds.center().distance(circle.center) < circle.radius_mm / CROSSES_TEETH as f64
            && edge.bounds.width().min(edge.bounds.height()) / 2.0 > circle.radius_mm
    });
    wheels.any(|wheel| {
        let outside = |p: Point| p.distance(circle.center) > circle.radius_mm;
        let vertices = &wheel.polyline.vertices;
        let sides = vertices.iter().map(|vertex| outside(vertex.at));
        let next = vertices.iter().cycle().skip(1).map(|vertex| outside(vertex.at));
        sides.zip(next).filter(|(a, b)| a != b).count() >= CROSSES_TEETH
    })
}

/// Asks about concentric circles in a plate.
pub(super) fn counterbores(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    let mut circles: Vec<&Contour> = scene
        .edges()
        .filter(|edge| edge.parent.is_some() && edge.role == Role::Opening && scene.circle(edge.id).is_some())
        .collect();
    circles.sort_by_key(|circle| circle.depth);
    let mut seen = vec![false; scene.list.len()];
    for outer in circles {
        if seen[outer.id.index()] {
            continue;
        }
        let chain = concentric_inside(scene, outer.id);
        for &id in &chain {
            seen[id.index()] = true;
        }
        let [given @ .., innermost] = &chain[..] else {
            continue;
        };
        let settled = given.iter().all(|&id| is_settled(scene.contour(id)));
        let any_cut = chain.iter().any(|&id| scene.contour(id).purpose == Purpose::Cut);
        if given.is_empty() || settled || !any_cut || !chain.iter().all(|&id| found.is_free(id)) {
            continue;
        }
        let only = |kept: ContourId| {
            let of = |&id: &ContourId| match scene.contour(id).purpose {
                _ if id != kept => (id, Purpose::Reference),
                Purpose::Cut => (id, Purpose::Opening),
                other => (id, other),
            };
            chain.iter().map(of).collect()
        };
        let nested = chain.iter().map(|&id| as_nested(scene.contour(id))).collect();
        let readings = vec![nested, only(*innermost), only(chain[0])];
        found.ask(QuestionKind::Counterbore, &readings);
    }
}

/// Lists a circle and those inside it, each directly inside the one before, that have the same centre.
fn concentric_inside(scene: &Scene<'_>, outer: ContourId) -> Vec<ContourId> {
    let mut chain = vec![outer];
    let mut last = outer;
    while let Some(circle) = scene.circle(last) {
        let inner = scene.directly_inside(last).iter().copied();
        let mut inner = inner.filter(|&id| scene.circle(id).is_some_and(|inner| inner.is_concentric(circle)));
        let Some(next) = inner.next() else { break };
        chain.push(next);
        last = next;
    }
    chain
}

/// Asks about small circles alone inside an opening, or outside every outline.
pub(super) fn start_holes(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    // A limit that is given settles it.
    if scene.uses.start_holes_under_mm.is_some() {
        return;
    }
    let under_mm = scene.rules.start_hole.drawn_under_mm.value();
    let is_small = |contour: &Contour| {
        let circle = scene.circle(contour.id);
        circle.is_some_and(|circle| 2.0 * circle.radius_mm < under_mm)
            && scene.directly_inside(contour.id).is_empty()
    };
    let has_outline = scene.edges().any(|edge| edge.parent.is_none() && !is_small(edge));
    for contour in scene.cut().filter(|contour| is_small(contour)) {
        let place = match scene.around(contour) {
            Some(around) => {
                around.purpose == Purpose::Cut
                    && around.role == Role::Opening
                    && scene.directly_inside(around.id).len() == 1
            }
            None => has_outline,
        };
        let given = is_purpose_given(contour) || contour.side_from == SideFrom::Given;
        if !place || given || !found.is_free(contour.id) {
            continue;
        }
        let reading = |purpose| vec![(contour.id, purpose)];
        let readings = [
            vec![as_nested(contour)],
            reading(Purpose::StartHole),
            reading(Purpose::ReadyHole),
        ];
        found.ask(QuestionKind::StartHole, &readings);
    }
}

/// Asks about open arcs of about 270°, beside a circle of the same centre or without one.
pub(super) fn tapped_holes(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    let circles: Vec<(ContourId, FullCircle)> = scene
        .edges()
        .filter_map(|edge| Some((edge.id, scene.circle(edge.id)?)))
        .collect();
    let centers = BoxIndex::new(circles.iter().map(|(_, circle)| Bounds::of([circle.center])));
    let arcs = scene
        .list
        .iter()
        .filter(|c| c.role == Role::Open && c.purpose == Purpose::Cut);
    for contour in arcs {
        let Some(arc) = thread_arc(contour) else { continue };
        if is_purpose_given(contour) || !found.is_free(contour.id) {
            continue;
        }
        let around = centers.around(Bounds::of([arc.center]), CONCENTRIC_MM);
        let core = around.into_iter().map(|i| circles[i]).find(|(id, circle)| {
            circle.is_concentric(arc)
                && circle.radius_mm < 2.0 * arc.radius_mm
                && arc.radius_mm < 2.0 * circle.radius_mm
                && found.is_free(*id)
        });
        let symbol = (contour.id, Purpose::Thread);
        let core = core
            .map(|(id, _)| scene.contour(id))
            .filter(|core| core.purpose == Purpose::Cut && !is_settled(core));
        let readings = match core {
            Some(core) => vec![
                vec![symbol, as_nested(core)],
                vec![symbol, (core.id, Purpose::Thread)],
            ],
            None => vec![vec![symbol], vec![as_nested(contour)]],
        };
        found.ask(QuestionKind::TappedHole, &readings);
    }
}

/// Returns the circle of an open line that is one arc, as long as that of a thread, in any number of pieces.
fn thread_arc(contour: &Contour) -> Option<FullCircle> {
    let mut sweep_deg = 0.0;
    let mut circle: Option<FullCircle> = None;
    for segment in contour.polyline.segments() {
        sweep_deg += segment.sweep().to_degrees();
        let this = FullCircle {
            center: segment.center()?,
            radius_mm: segment.radius(),
        };
        let first = circle.get_or_insert(this);
        if !first.is_concentric(this) || (first.radius_mm - this.radius_mm).abs() > CONCENTRIC_MM {
            return None;
        }
    }
    circle.filter(|_| THREAD_SWEEP_DEG.contains(&f64::abs(sweep_deg)))
}
