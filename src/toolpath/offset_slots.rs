//! Slots as wide as twice the offset: one rule, one answer (plane geometry; no source needed).

use super::reach::places;
use super::{UnreachedKind, offset};
use crate::geometry::{Point, Polyline, Vector, Vertex};

const OFFSET: f64 = 0.13;

/// A bar with ten slots 2 deep in its upper side, turned and moved.
fn bar(width: f64, turn: f64, by: Vector) -> Polyline {
    let top = (0..10).rev().flat_map(|i| {
        let x = 1.37 + 3.1 * f64::from(i);
        [(x + width, 5.0), (x + width, 3.0), (x, 3.0), (x, 5.0)]
    });
    let points = [(0.0, 0.0), (32.0, 0.0), (32.0, 5.0)]
        .into_iter()
        .chain(top)
        .chain([(0.0, 5.0)]);
    Polyline {
        vertices: points
            .map(|(x, y)| Vertex {
                at: Point::default() + Vector::new(x, y).turned(turn) + by,
                bulge: 0.0,
            })
            .collect(),
        closed: true,
    }
}

#[test]
fn ten_equal_slots_have_one_answer_that_is_told() {
    for (more_mm, entered) in [(-5e-5, false), (0.0, true), (5e-5, true)] {
        for k in 0..12 {
            let (turn, along) = (0.31 * f64::from(k), 7.7 * f64::from(k * k));
            let bar = bar(2.0 * OFFSET + more_mm, turn, Vector::new(along, -3.3 * along));
            let found = offset(&bar, OFFSET).expect("verified");
            let bottoms = bar.vertices.windows(2).skip(4).step_by(4).take(10);
            let reached: Vec<bool> = bottoms
                .map(|ends| {
                    let bottom = ends[0].at.midpoint(ends[1].at);
                    let mut path = found.loops.iter().flat_map(Polyline::segments);
                    path.any(|s| s.distance(bottom) < OFFSET + 1e-3)
                })
                .collect();
            assert_eq!(reached, [entered; 10], "{more_mm} wider, turned {k}");
            let told = places(&bar, &found.loops, OFFSET);
            let narrow = told
                .iter()
                .filter(|place| place.kind == UnreachedKind::NarrowSlot && place.deviation_mm > 0.5);
            assert_eq!(
                narrow.count(),
                if entered { 0 } else { 10 },
                "{more_mm} wider, turned {k}: {told:?}"
            );
        }
    }
}
