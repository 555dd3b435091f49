//! Which slits cut a piece off, and what drops: the pieces that the kept material falls into, by a polygon library.

use std::rc::Rc;

use geo::{
    Area, BooleanOps, Contains, Coord, Euclidean, InteriorPoint, Length, LineString, MultiPolygon, Polygon,
};

use super::polygon::joints;
use super::slit::kerf_area;
use super::{CutEnd, OffcutShape, OpenCut};
use crate::cancel::uninterrupted_or_panicked;
use crate::contour::KeptMaterial;
use crate::geometry::{Bounds, Point, Polyline, Vertex, arcs_along};
use crate::tolerance::{CHORD_RISE_MM, CRUMB_PIECE_MM2, FIT_MM};

/// A slit on its way through the material.
pub(super) struct Cutting<'a> {
    pub(super) path: &'a Polyline,
    pub(super) cut: &'a OpenCut,
    pub(super) half_kerf_mm: f64,
}

/// What a slit does to the pieces that there are.
#[derive(Clone)]
pub(super) enum Division {
    /// It leaves as many as there were.
    PartsNothing,
    /// It cuts one off where it runs out of the material: the smaller of the two drops.
    CutsOff(OffcutShape),
    /// It cuts several off, or one before its end, or out of a part that is cut out itself.
    Otherwise,
}

/// What each of the slits does: those that part nothing are made first, the others one after the other. `None` where the library fails.
pub(super) fn divisions(kept: &KeptMaterial<'_>, cuts: &[Cutting<'_>]) -> Option<Vec<Division>> {
    let bounds = |cut: &Cutting<'_>| cut.path.bounds().grown(cut.half_kerf_mm);
    let all = cuts.iter().map(bounds).fold(Bounds::EMPTY, Bounds::union);
    let whole = pieces(bodies(kept, all));
    let mut left = whole.clone();
    let mut parting = Vec::new();
    for cut in cuts {
        let made = Severance::new(&left, cut.path, cut.half_kerf_mm)?;
        parting.push(made.more() > 0);
        left = made.left();
    }
    if !parting.contains(&true) {
        return Some(vec![Division::PartsNothing; cuts.len()]);
    }
    left = whole;
    for (cut, _) in cuts.iter().zip(&parting).filter(|(_, parts)| !**parts) {
        left = Severance::new(&left, cut.path, cut.half_kerf_mm)?.left();
    }
    let each = cuts.iter().zip(&parting).map(|(cut, parts)| {
        if !parts {
            return Some(Division::PartsNothing);
        }
        let (division, next) = division(&left, cut)?;
        left = next;
        Some(division)
    });
    each.collect()
}

/// What a slit does to the pieces that are left, and what is left then.
fn division(left: &[BodyPiece], cut: &Cutting<'_>) -> Option<(Division, Vec<BodyPiece>)> {
    let whole = Severance::new(left, cut.path, cut.half_kerf_mm)?;
    let runs_out = matches!(cut.cut.ends[1], CutEnd::Air | CutEnd::Waste);
    let until_mm = cut.cut.left_mm - 2.0 * cut.half_kerf_mm;
    let nearly = Severance::new(left, &begin_of(cut.path, until_mm), cut.half_kerf_mm)?;
    if whole.more() != 1 || !runs_out || cut.cut.part.is_some() || nearly.more() > 0 {
        return Some((Division::Otherwise, whole.left()));
    }
    let smaller = whole.halves()?.into_iter();
    let smaller = smaller.min_by(|a, b| a.polygon.unsigned_area().total_cmp(&b.polygon.unsigned_area()))?;
    Some((Division::CutsOff(shape_of(&smaller.polygon)), whole.left()))
}

/// A piece of material that hangs together, and no crumb.
#[derive(Clone)]
struct BodyPiece {
    polygon: Rc<Polygon>,
    bounds: Bounds,
}

/// What a kerf makes of the pieces that lie in its bounds; the others stay as they are.
struct Severance<'a> {
    met: Vec<&'a BodyPiece>,
    made: Vec<BodyPiece>,
    untouched: Vec<&'a BodyPiece>,
}

impl<'a> Severance<'a> {
    /// `None` where the library fails.
    fn new(left: &'a [BodyPiece], path: &Polyline, half_kerf_mm: f64) -> Option<Self> {
        let kerf = kerf_area(path, half_kerf_mm)?;
        let reach = path.bounds().grown(half_kerf_mm);
        let (met, untouched): (Vec<&BodyPiece>, Vec<&BodyPiece>) =
            left.iter().partition(|piece| piece.bounds.overlaps(reach));
        let whole = MultiPolygon::new(met.iter().map(|piece| piece.polygon.as_ref().clone()).collect());
        let made = pieces(uninterrupted_or_panicked(|| whole.difference(&kerf))?);
        Some(Self { met, made, untouched })
    }

    /// How many pieces there are more than before.
    fn more(&self) -> isize {
        self.made.len().cast_signed() - self.met.len().cast_signed()
    }

    /// The two that one piece falls into.
    fn halves(&self) -> Option<Vec<&BodyPiece>> {
        let middles = self
            .made
            .iter()
            .map(|piece| (piece, piece.polygon.interior_point()));
        let middles: Vec<(&BodyPiece, Option<geo::Point>)> = middles.collect();
        let of = |whole: &&BodyPiece| {
            let within = middles
                .iter()
                .filter(|(_, middle)| middle.is_some_and(|p| whole.polygon.contains(&p)));
            within.map(|(piece, _)| *piece).collect::<Vec<&BodyPiece>>()
        };
        self.met.iter().map(of).find(|made| made.len() == 2)
    }

    /// All pieces that there are afterwards.
    fn left(self) -> Vec<BodyPiece> {
        let untouched = self.untouched.into_iter().cloned();
        untouched.chain(self.made).collect()
    }
}

/// A piece with its area; chords stand for arcs, so that no more of it is sure than that it is no larger.
fn shape_of(piece: &Polygon) -> OffcutShape {
    let rings = std::iter::once(piece.exterior()).chain(piece.interiors());
    let around_mm: f64 = rings.map(|ring| Euclidean.length(ring)).sum();
    let ring: Vec<Point> = piece.exterior().coords().map(|c| Point::new(c.x, c.y)).collect();
    OffcutShape {
        outline: arcs_along(&ring, FIT_MM),
        area_mm2: piece.unsigned_area() + around_mm * CHORD_RISE_MM,
        exact: false,
    }
}

/// A path up to a place along it.
fn begin_of(path: &Polyline, until_mm: f64) -> Polyline {
    let mut vertices: Vec<Vertex> = Vec::new();
    let mut begins_mm = 0.0;
    for segment in path.segments() {
        let share = ((until_mm - begins_mm) / segment.length()).clamp(0.0, 1.0);
        let part = segment.part(0.0, share);
        vertices.push(Vertex {
            at: part.from,
            bulge: part.bulge,
        });
        begins_mm += segment.length();
        if share < 1.0 {
            vertices.push(Vertex {
                at: part.to,
                bulge: 0.0,
            });
            break;
        }
    }
    Polyline {
        vertices,
        closed: false,
    }
}

/// What of the inside of loops lies in the kept material, piece by piece; `None` where the library fails.
pub(super) fn shapes_within(kept: &KeptMaterial<'_>, loops: &[Polyline]) -> Option<Vec<OffcutShape>> {
    let all = loops
        .iter()
        .map(Polyline::bounds)
        .fold(Bounds::EMPTY, Bounds::union);
    let bodies = bodies(kept, all);
    let inside = loops.iter().map(|path| Polygon::new(ring(path), Vec::new()));
    let inside = MultiPolygon::new(inside.collect());
    let within = uninterrupted_or_panicked(|| bodies.intersection(&inside))?;
    Some(
        pieces(within)
            .iter()
            .map(|piece| shape_of(&piece.polygon))
            .collect(),
    )
}

/// The bodies of kept material near what is cut, as polygons.
fn bodies(kept: &KeptMaterial<'_>, cut: Bounds) -> MultiPolygon {
    let near = kept.bodies().into_iter();
    let near = near.filter(|(outline, _)| outline.bounds().overlaps(cut));
    let mut bodies: Vec<Polygon> = near
        .map(|(outline, openings)| Polygon::new(ring(outline), openings.into_iter().map(ring).collect()))
        .collect();
    let openings = kept.openings_without_end();
    if !openings.is_empty() {
        let around = openings.iter().map(|o| o.bounds()).fold(cut, Bounds::union);
        let around = around.grown(around.diagonal());
        let corners = [
            (around.min.x, around.min.y),
            (around.max.x, around.min.y),
            (around.max.x, around.max.y),
            (around.min.x, around.max.y),
        ];
        let inside = openings.into_iter().map(ring).collect();
        bodies.push(Polygon::new(LineString::from(corners.to_vec()), inside));
    }
    MultiPolygon::new(bodies)
}

fn ring(outline: &Polyline) -> LineString {
    let points = joints(outline).into_iter();
    points.map(|p| Coord { x: p.x, y: p.y }).collect()
}

/// Those that are large enough to be pieces.
fn pieces(all: MultiPolygon) -> Vec<BodyPiece> {
    let large = all
        .into_iter()
        .filter(|polygon| polygon.unsigned_area() > CRUMB_PIECE_MM2);
    let piece = |polygon: Polygon| BodyPiece {
        bounds: Bounds::of(polygon.exterior().coords().map(|c| Point::new(c.x, c.y))),
        polygon: Rc::new(polygon),
    };
    large.map(piece).collect()
}
