//! Which open cuts cut a piece off: counted as the pieces that the kept material falls into, with a polygon library.

use geo::{Area, BooleanOps, Coord, LineString, MultiPolygon, Polygon};

use super::kept::KeptMaterial;
use super::polygon::joints;
use super::slit::kerf_area;
use crate::cancel::uninterrupted_or_panicked;
use crate::geometry::{Bounds, Polyline};
use crate::tolerance::CRUMB_PIECE_MM2;

/// An open cut on its way through the material.
pub(super) struct Cutting<'a> {
    pub(super) path: &'a Polyline,
    pub(super) half_kerf_mm: f64,
}

/// For each of the cuts, made one after the other, whether it leaves more pieces of the kept material than there were before. `None`
/// where the library fails.
pub(super) fn are_dividing(kept: &KeptMaterial<'_>, cuts: &[Cutting<'_>]) -> Option<Vec<bool>> {
    let bounds = |cut: &Cutting<'_>| cut.path.bounds().grown(cut.half_kerf_mm);
    let all = cuts.iter().map(bounds).fold(Bounds::EMPTY, Bounds::union);
    let mut left = bodies(kept, all);
    let mut pieces = count(&left);
    let each = cuts.iter().map(|cut| {
        let kerf = kerf_area(cut.path, cut.half_kerf_mm)?;
        left = uninterrupted_or_panicked(|| left.difference(&kerf))?;
        let before = std::mem::replace(&mut pieces, count(&left));
        Some(pieces > before)
    });
    each.collect()
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

fn count(pieces: &MultiPolygon) -> usize {
    let large = pieces.iter().filter(|piece| piece.unsigned_area() > CRUMB_PIECE_MM2);
    large.count()
}
