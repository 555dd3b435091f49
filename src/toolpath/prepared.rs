//! A contour made ready for offsetting: counter-clockwise, about its own middle, without points given twice.

use super::refusal::RefusalReason;
use crate::geometry::{Point, Polyline, Segment, Vector, Vertex};
use crate::tolerance::{CENTER_LOST_MM, FLAT_ARC_MM, SAME_POINT_MM};

/// A loop ready for offsetting.
pub(super) struct Prepared {
    /// The loop, counter-clockwise, moved by `-origin`; no arc of more than a half turn.
    pub(super) outline: Polyline,
    /// Where its zero lies on the drawing.
    pub(super) origin: Vector,
    /// No point was moved by more than this, mm.
    pub(super) moved_mm: f64,
}

/// Makes a loop ready, or says why that cannot be: it is open, holds a coordinate that is no number, or
/// encloses nothing.
pub(super) fn prepare(contour: &Polyline) -> Result<Prepared, RefusalReason> {
    if !contour.closed {
        return Err(RefusalReason::NoLoop);
    }
    if !contour
        .vertices
        .iter()
        .all(|v| v.at.is_finite() && v.bulge.is_finite())
    {
        return Err(RefusalReason::NotFinite);
    }
    let origin = contour.bounds().center() - Point::default();
    let mut moved_mm = 0.0f64;
    let mut vertices: Vec<Vertex> = Vec::with_capacity(contour.vertices.len());
    for segment in contour.segments() {
        let segment = Segment::arc(segment.from - origin, segment.to - origin, segment.bulge);
        if segment.length() < SAME_POINT_MM {
            moved_mm = moved_mm.max(SAME_POINT_MM);
            continue;
        }
        let rise = 0.5 * segment.chord() * segment.bulge.abs();
        if segment.is_arc() && rise < FLAT_ARC_MM && segment.radius() > CENTER_LOST_MM {
            moved_mm = moved_mm.max(rise);
            vertices.push(Vertex {
                at: segment.from,
                bulge: 0.0,
            });
        } else if segment.bulge.abs() > 1.0 {
            vertices.extend(segment.halves().map(|half| Vertex {
                at: half.from,
                bulge: half.bulge,
            }));
        } else {
            vertices.push(Vertex {
                at: segment.from,
                bulge: segment.bulge,
            });
        }
    }
    let outline = Polyline {
        vertices,
        closed: true,
    };
    let area = outline.area();
    if outline.vertices.len() < 2 || area.abs() < SAME_POINT_MM * outline.length() {
        return Err(RefusalReason::NoArea);
    }
    Ok(Prepared {
        outline: if area < 0.0 { outline.reversed() } else { outline },
        origin,
        moved_mm,
    })
}

/// `polyline` moved by `by`.
pub(super) fn moved(polyline: &Polyline, by: Vector) -> Polyline {
    let vertices = polyline
        .vertices
        .iter()
        .map(|v| Vertex {
            at: v.at + by,
            bulge: v.bulge,
        })
        .collect();
    Polyline {
        vertices,
        closed: polyline.closed,
    }
}
