//! The second proposer: the contour as a polygon, buffered by a polygon library, and arcs laid along what comes back.
//!
//! It knows no arcs, but copes with chords far shorter than the offset and with rounded coordinates, where the library that keeps arcs
//! finds nothing. Its joins take corners of up to 3.6° in one chord, 0.17 µm too near at 0.35 mm, so what comes back is put at the offset
//! again; what is proposed is off by the rise of its chords ([`CHORD_RISE_MM`]) and by the fit ([`ARC_FIT_MM`]). The verifier measures it.

use geo::buffer::{BufferStyle, LineJoin};
use geo::{Buffer, Coord, LineString, Polygon};

use crate::cancel::uninterrupted_or_panicked;
use crate::elementary::exp2;
use crate::geometry::{Point, Polyline, SegmentIndex, arcs_along};
use crate::tolerance::{ARC_FIT_MM, BUFFER_GRID_MM, CHORD_RISE_MM};

/// The library's grid divides half of the extent of what it draws into at least 2 to this power steps (`FloatPointAdapter` of `i_float`
/// 1.16, on which it works).
const GRID_POWER: i32 = 29;

/// Proposes the loops at `offset_mm` from a counter-clockwise `outline`, whose segments are in `index`, with the contour on their left.
/// `None` when the library panics or its grid would be coarser than [`BUFFER_GRID_MM`].
pub(super) fn propose(outline: &Polyline, index: &SegmentIndex, offset_mm: f64) -> Option<Vec<Polyline>> {
    let bounds = outline.bounds();
    let half_extent_mm = 0.5 * bounds.width().max(bounds.height()) + 1.1 * offset_mm.abs();
    if half_extent_mm / exp2(f64::from(GRID_POWER)) > BUFFER_GRID_MM {
        return None;
    }
    // The library makes it 1.8° where it is less, and one chord of a join may take up to twice that.
    let join_rad = (2.0 * CHORD_RISE_MM / offset_mm.abs()).sqrt();
    let style = BufferStyle::new(offset_mm).line_join(LineJoin::Round(join_rad));
    let ring = joints(outline)
        .into_iter()
        .map(|p| Coord { x: p.x, y: p.y })
        .collect::<LineString>();
    let polygon = Polygon::new(ring, Vec::new());
    let buffered = uninterrupted_or_panicked(|| polygon.buffer_with_style(style))?;
    let rings = buffered
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let loops = rings.map(|ring| {
        let ring: Vec<Point> = ring.coords().map(|c| Point::new(c.x, c.y)).collect();
        let path = arcs_along(&at_offset(&ring, index, offset_mm.abs()), ARC_FIT_MM);
        if offset_mm > 0.0 { path } else { path.reversed() }
    });
    Some(loops.filter(|path| path.segment_count() >= 2).collect())
}

/// The joints of a `ring` that ends where it began, moved to `distance` from the contour, and joints between them where a chord would rise
/// more than [`CHORD_RISE_MM`].
fn at_offset(ring: &[Point], contour: &SegmentIndex, distance: f64) -> Vec<Point> {
    let moved = |p: Point| match contour.nearest_within(p, 2.0 * distance) {
        Some((_, foot, away)) if away > 0.0 => foot + (p - foot) * (distance / away),
        _ => p,
    };
    let mut joints = Vec::with_capacity(ring.len());
    let mut from = moved(ring[0]);
    for &end in &ring[1..] {
        let to = moved(end);
        let middle = from.midpoint(to);
        let on_offset = moved(middle);
        if middle.distance(on_offset) > CHORD_RISE_MM {
            joints.push(on_offset);
        }
        joints.push(to);
        from = to;
    }
    joints
}

/// The ends of the chords of the outline, its arcs cut into chords.
pub(super) fn joints(outline: &Polyline) -> Vec<Point> {
    outline
        .segments()
        .flat_map(|s| {
            // The rise of a chord over an angle a is r(1 − cos(a/2)), about r·a²/8.
            let chords = s.sweep().abs() * (s.radius() / (8.0 * CHORD_RISE_MM)).sqrt();
            let chords = if s.is_arc() { chords.ceil().max(1.0) } else { 1.0 };
            (0..chords as usize).map(move |i| s.at(i as f64 / chords))
        })
        .collect()
}
