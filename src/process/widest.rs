//! The roomiest place of a region: the point inside a loop that is farthest from it.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::geometry::{Bounds, Point, SegmentIndex};

/// The roomiest place is looked for until it is known to this part of the size of its region.
const ROOM_SHARE: f64 = 0.01;

/// The point inside a loop that is farthest from it (its pole of inaccessibility): squares that cannot hold a better one
/// than known are dropped, the most promising is quartered (the scheme of Mapbox's `polylabel`).
pub(super) fn widest(index: &SegmentIndex, bounds: Bounds) -> Point {
    let half = 0.5 * bounds.width().max(bounds.height());
    let precision = ROOM_SHARE * half;
    let mut best = Cell::new(index, bounds.center(), 0.0);
    let mut cells = BinaryHeap::from([Cell::new(index, bounds.center(), half)]);
    while let Some(cell) = cells.pop().filter(|cell| cell.at_most() > best.room + precision) {
        let quarter = 0.5 * cell.half;
        for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let middle = Point::new(cell.middle.x + x * quarter, cell.middle.y + y * quarter);
            let part = Cell::new(index, middle, quarter);
            if part.room > best.room {
                best = Cell { half: 0.0, ..part };
            }
            cells.push(part);
        }
    }
    best.middle
}

/// A square that may hold the roomiest place.
struct Cell {
    middle: Point,
    half: f64,
    room: f64,
}

impl Cell {
    fn new(index: &SegmentIndex, middle: Point, half: f64) -> Self {
        let distance = index
            .nearest(middle, half)
            .map_or(0.0, |(_, _, distance)| distance);
        let room = if index.winding(middle) == 0 {
            -distance
        } else {
            distance
        };
        Self { middle, half, room }
    }

    /// No point of the square has more room than this: distances change by no more than the way moved.
    fn at_most(&self) -> f64 {
        self.room + self.half * std::f64::consts::SQRT_2
    }
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Cell {}

impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Cell {
    fn cmp(&self, other: &Self) -> Ordering {
        self.at_most().total_cmp(&other.at_most())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Polyline;

    #[test]
    fn the_roomiest_place_of_an_l_is_in_its_elbow() {
        let bay = Polyline::closed([
            (0.0, 0.0, 0.0),
            (6.0, 0.0, 0.0),
            (6.0, 6.0, 0.0),
            (4.0, 6.0, 0.0),
            (4.0, 2.0, 0.0),
            (0.0, 2.0, 0.0),
        ]);
        let at = widest(&SegmentIndex::of([&bay]), bay.bounds());
        // The circle that touches both outer walls and the inner corner: 6 − x = y, distance to (4, 2) the same.
        let radius = 2.0 * 2f64.sqrt() / (1.0 + 2f64.sqrt());
        assert!(
            (bay.segments()
                .map(|s| s.distance(at))
                .fold(f64::INFINITY, f64::min)
                - radius)
                .abs()
                < 0.03
        );
    }
}
