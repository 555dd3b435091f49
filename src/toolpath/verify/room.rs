//! Whether the wire has room at all.

use super::{Verifier, around, near};
use crate::cancel::checkpoint_each;
use crate::geometry::{Point, Segment};
use crate::tolerance::{NUDGE_MM, SAME_POINT_MM};

impl Verifier<'_> {
    /// A place at the offset from the contour, on its side, to which no wall is nearer (by more than [`NUDGE_MM`]): a path may run there.
    /// `None` where each such place is forbidden: there is no path. It is known much sooner than a path is.
    pub(in crate::toolpath) fn place_with_room(&self) -> Option<Point> {
        let walls = self.contour.segments();
        // What forbids an element mostly forbids the next one too, or the wall beside does.
        let mut last = 0;
        self.raw_elements().enumerate().find_map(|(i, element)| {
            checkpoint_each(i);
            let element = element.curve;
            let beside = [0, 1, walls.len() - 1].map(|turn| (last + turn) % walls.len());
            let nearest = || self.contour.nearest_within(element.middle(), self.distance);
            let mut likely = beside
                .into_iter()
                .chain(std::iter::once_with(nearest).flatten().map(|(i, ..)| i));
            if let Some(wall) = likely.find(|&i| self.forbids(walls[i], element)) {
                last = wall;
                return None;
            }
            self.free_place(element, &around(self.contour, element, self.distance))
        })
    }

    /// A place of `element` that none of the walls near it forbids, if it lies on the right side; halved until that is known.
    fn free_place(&self, element: Segment, walls: &[Segment]) -> Option<Point> {
        if walls.iter().any(|&wall| self.forbids(wall, element)) {
            return None;
        }
        let at = element.middle();
        let shortest = element.length() <= NUDGE_MM;
        if shortest
            || walls
                .iter()
                .all(|wall| wall.distance(at) >= self.distance - SAME_POINT_MM)
        {
            if self.on_side(at) {
                return Some(at);
            }
            if shortest || walls.iter().all(|&wall| element.clearance(wall) > 0.0) {
                return None;
            }
        }
        let of_half = |half| self.free_place(half, &near(walls, half, self.distance));
        element.halves().into_iter().find_map(of_half)
    }

    /// Whether a wall is nearer to all of `element` than the offset.
    fn forbids(&self, wall: Segment, element: Segment) -> bool {
        element.farthest_from(wall) < self.distance - SAME_POINT_MM
    }
}
