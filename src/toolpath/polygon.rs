//! The second proposer: the contour as a polygon, buffered by a polygon library, and arcs laid along what comes back.
//!
//! It knows no arcs, but copes with chords far shorter than the offset and with rounded coordinates, where the library that keeps arcs
//! finds nothing. What it proposes is off by the rise of its chords ([`CHORD_RISE_MM`]), by its grid and by the fit ([`ARC_FIT_MM`]); the
//! verifier measures all of it.

use geo::buffer::{BufferStyle, LineJoin};
use geo::{Buffer, Coord, LineString, Polygon};

use crate::cancel::uninterrupted_or_panicked;
use crate::geometry::{Point, Polyline, arcs_along};
use crate::tolerance::{ARC_FIT_MM, BUFFER_GRID_MM, CHORD_RISE_MM};

/// The library's grid divides half of the extent of what it draws into at least 2 to this power steps (`FloatPointAdapter` of `i_float`
/// 1.16, on which it works).
const GRID_POWER: i32 = 29;

/// Proposes the loops at `offset_mm` from a counter-clockwise `outline`, with the contour on their left. `None` when the library panics or
/// its grid would be coarser than [`BUFFER_GRID_MM`].
pub(super) fn propose(outline: &Polyline, offset_mm: f64) -> Option<Vec<Polyline>> {
    let bounds = outline.bounds();
    let half_extent_mm = 0.5 * bounds.width().max(bounds.height()) + 1.1 * offset_mm.abs();
    if half_extent_mm / f64::from(GRID_POWER).exp2() > BUFFER_GRID_MM {
        return None;
    }
    // One chord of a join may take up to twice this.
    let join_rad = (2.0 * CHORD_RISE_MM / offset_mm.abs()).sqrt();
    let style = BufferStyle::new(offset_mm).line_join(LineJoin::Round(join_rad));
    let polygon = flattened(outline);
    let buffered = uninterrupted_or_panicked(|| polygon.buffer_with_style(style))?;
    let rings = buffered
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let loops = rings.map(|ring| {
        let joints: Vec<Point> = ring.coords().skip(1).map(|c| Point::new(c.x, c.y)).collect();
        let path = arcs_along(&joints, ARC_FIT_MM);
        if offset_mm > 0.0 { path } else { path.reversed() }
    });
    Some(loops.filter(|path| path.segment_count() >= 2).collect())
}

/// The outline with its arcs as chords.
fn flattened(outline: &Polyline) -> Polygon {
    let points = outline.segments().flat_map(|s| {
        // The rise of a chord over an angle a is r(1 − cos(a/2)), about r·a²/8.
        let chords = s.sweep().abs() * (s.radius() / (8.0 * CHORD_RISE_MM)).sqrt();
        let chords = if s.is_arc() { chords.ceil().max(1.0) } else { 1.0 };
        (0..chords as usize).map(move |i| s.at(i as f64 / chords))
    });
    Polygon::new(
        points.map(|p| Coord { x: p.x, y: p.y }).collect::<LineString>(),
        Vec::new(),
    )
}
