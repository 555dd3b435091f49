//! Finds which contour holds a point innermost.

use std::sync::OnceLock;

use super::{Contour, Contours};
use crate::geometry::{Bounds, BoxIndex, Point, SegmentIndex};
use crate::id::ContourId;

/// The contours that bound material, to be found by a point that they hold.
pub(crate) struct Regions<'a> {
    bounding: Vec<&'a Contour>,
    boxes: BoxIndex,
    indices: Vec<OnceLock<SegmentIndex>>,
}

impl<'a> Regions<'a> {
    /// Gathers those of a drawing.
    pub(crate) fn new(contours: &'a Contours) -> Self {
        Self::of_edges(contours.list.iter().filter(|c| c.bounds_material()).collect())
    }

    /// Gathers some of them.
    pub(super) fn of_edges(bounding: Vec<&'a Contour>) -> Self {
        Self {
            boxes: BoxIndex::new(bounding.iter().map(|c| c.bounds)),
            indices: bounding.iter().map(|_| OnceLock::new()).collect(),
            bounding,
        }
    }

    /// Returns the innermost contour that holds a point; `None` outside all of them.
    pub(crate) fn of(&self, p: Point) -> Option<ContourId> {
        let holds = |&i: &usize| {
            let index = self.indices[i].get_or_init(|| SegmentIndex::of([&self.bounding[i].polyline]));
            index.winding(p) != 0
        };
        let around = self.boxes.within(Bounds::of([p])).filter(holds);
        let innermost = around.max_by_key(|&i| (self.bounding[i].depth, self.bounding[i].id));
        innermost.map(|i| self.bounding[i].id)
    }
}
