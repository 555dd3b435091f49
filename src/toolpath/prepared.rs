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

#[cfg(test)]
mod tests {
    use super::*;

    /// A rectangle whose lower side is an arc over `chord` mm that rises by `rise` mm: its radius is chord²/(8·rise).
    fn with_flat_arc(chord: f64, rise: f64) -> Prepared {
        let bulge = 2.0 * rise / chord;
        let outline = [
            (0.0, 0.0, bulge),
            (chord, 0.0, 0.0),
            (chord, 2.0, 0.0),
            (0.0, 2.0, 0.0),
        ];
        prepare(&Polyline::closed(outline)).expect("it has area")
    }

    /// Plane geometry; no source needed. What an arc was straightened by is told to the digit, and added to what is verified.
    #[test]
    fn an_arc_is_straightened_when_it_is_flat_and_its_centre_is_lost() {
        // Rise 0.9 nm over 3 mm: radius 1 250 m. 1.1 nm: 1 023 m. 0.9 nm over 2.5456 mm: 900 m.
        for (chord, rise, straight) in [(3.0, 0.9e-6, true), (3.0, 1.1e-6, false), (2.5456, 0.9e-6, false)] {
            let prepared = with_flat_arc(chord, rise);
            let arcs = prepared.outline.segments().filter(|s| s.is_arc()).count();
            assert_eq!(arcs, usize::from(!straight), "{chord} {rise}");
            let moved = if straight { rise } else { 0.0 };
            assert!(
                (prepared.moved_mm - moved).abs() < 1e-15,
                "{chord} {rise}: {}",
                prepared.moved_mm
            );
        }
        // A radius of 1 100 m is beyond 1 000 m.
        assert_eq!(
            with_flat_arc(2.815, 0.9e-6)
                .outline
                .segments()
                .filter(|s| s.is_arc())
                .count(),
            0
        );
    }

    #[test]
    fn points_nearer_than_a_billionth_are_one() {
        for (apart, corners) in [(0.9e-9, 4), (1.1e-9, 5)] {
            let outline = [(0.0, 0.0), (apart, 0.0), (3.0, 0.0), (3.0, 2.0), (0.0, 2.0)];
            let prepared =
                prepare(&Polyline::closed(outline.map(|(x, y)| (x, y, 0.0)))).expect("it has area");
            assert_eq!(prepared.outline.vertices.len(), corners, "{apart}");
            assert_eq!(prepared.moved_mm > 0.0, corners == 4, "{apart}");
            assert!(prepared.moved_mm <= 1e-9);
        }
    }
}
