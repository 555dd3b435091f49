use std::ops::ControlFlow;

use static_aabb2d_index::{Control, NeighborPriorityQueue, StaticAABB2DIndex, StaticAABB2DIndexBuilder};

use super::{Bounds, Point};

/// Finds boxes by place. Built once in `n·log n`; items are named by their order when built.
pub struct BoxIndex(StaticAABB2DIndex<f64>);

impl BoxIndex {
    /// The index of `boxes`, none of which may be empty or hold a NaN.
    pub fn new(boxes: impl ExactSizeIterator<Item = Bounds>) -> Self {
        let mut builder = StaticAABB2DIndexBuilder::new(boxes.len());
        for b in boxes {
            builder.add(b.min.x, b.min.y, b.max.x, b.max.y);
        }
        Self(builder.build().expect("as many boxes were added as announced"))
    }

    /// Calls `visit` for every item whose box shares a point with `area`, until it breaks.
    pub fn overlapping(
        &self,
        area: Bounds,
        stack: &mut Vec<usize>,
        mut visit: impl FnMut(usize) -> ControlFlow<()>,
    ) {
        self.0.visit_query_with_stack(
            area.min.x,
            area.min.y,
            area.max.x,
            area.max.y,
            &mut |item| match visit(item) {
                ControlFlow::Continue(()) => Control::<()>::Continue,
                ControlFlow::Break(()) => Control::Break(()),
            },
            stack,
        );
    }

    /// The item nearest to `p` and its distance, if nearer than `within` mm. `distance` gives an item's true
    /// distance (infinite to pass it over), which is never less than that of its box.
    pub fn nearest(
        &self,
        p: Point,
        within: f64,
        queue: &mut NearestQueue,
        mut distance: impl FnMut(usize) -> f64,
    ) -> Option<(usize, f64)> {
        let (mut best, mut found) = (within, None);
        self.0.visit_neighbors_with_queue(
            p.x,
            p.y,
            &mut |item: usize, square: f64| {
                if square >= best * best {
                    return Control::Break(());
                }
                let d = distance(item);
                if d < best {
                    (best, found) = (d, Some(item));
                }
                Control::Continue
            },
            &mut queue.0,
        );
        found.map(|item| (item, best))
    }
}

/// Memory that one [`BoxIndex::nearest`] leaves to the next.
#[derive(Default)]
pub struct NearestQueue(NeighborPriorityQueue<f64>);
