mod order;

use std::ops::ControlFlow;

use static_aabb2d_index::{AABB, Control, StaticAABB2DIndex, StaticAABB2DIndexBuilder};

use super::{Bounds, Point, Vector};
use crate::cancel::{asked, checkpoint, checkpoint_each, uninterrupted};

/// What a visit returns as the distance of the best when nothing more is to be looked at.
pub const STOP_SEARCH: f64 = -1.0;

/// Room for the nodes that a question usually keeps open, so that it asks for memory once.
const NODES_AT_ONCE: usize = 64;

/// Finds boxes by place. Built once in `n·log n`; items are named by their order when built.
pub struct BoxIndex {
    tree: StaticAABB2DIndex<f64>,
    /// Where items were put in order before they were added: the item of each number of the tree, and all of them as
    /// the tree has them.
    sorted: Option<(Vec<usize>, Vec<usize>)>,
}

impl BoxIndex {
    /// Makes the index of `boxes`, none of which may be empty or hold a NaN.
    pub fn new(boxes: impl ExactSizeIterator<Item = Bounds>) -> Self {
        checkpoint();
        let boxes: Vec<Bounds> = asked(boxes).collect();
        checkpoint();
        let order = order::crowded(&boxes).then(|| order::tiled(&boxes));
        let mut builder = StaticAABB2DIndexBuilder::new_with_node_size(boxes.len(), order::LEAF);
        for i in 0..boxes.len() {
            checkpoint_each(i);
            let b = boxes[order.as_ref().map_or(i, |order| order[i])];
            builder.add(b.min.x, b.min.y, b.max.x, b.max.y);
        }
        drop(boxes);
        let tree = uninterrupted(|| builder.build()).expect("as many boxes were added as announced");
        let sorted = order.map(|order| {
            let in_order = asked(tree.item_indices().iter()).map(|&i| order[i]).collect();
            (order, in_order)
        });
        Self { tree, sorted }
    }

    /// Returns the item that has this number in the tree.
    fn item(&self, number: usize) -> usize {
        self.sorted.as_ref().map_or(number, |(items, _)| items[number])
    }

    /// Returns all items, neighbours in the plane mostly following one another: the order in which to ask about many.
    pub fn in_order(&self) -> &[usize] {
        match &self.sorted {
            Some((_, in_order)) => in_order,
            None => self.tree.item_indices(),
        }
    }

    /// How many items that follow one another in [`Self::in_order`], from every so many places on, lie side by side.
    pub fn group_size(&self) -> usize {
        self.tree.node_size()
    }

    /// Calls `visit` for every item whose box shares a point with `area`, until it breaks.
    pub fn overlapping(
        &self,
        area: Bounds,
        stack: &mut Vec<usize>,
        mut visit: impl FnMut(usize) -> ControlFlow<()>,
    ) {
        checkpoint();
        self.tree.visit_query_with_stack(
            area.min.x,
            area.min.y,
            area.max.x,
            area.max.y,
            &mut |number| match visit(self.item(number)) {
                ControlFlow::Continue(()) => Control::<()>::Continue,
                ControlFlow::Break(()) => Control::Break(()),
            },
            stack,
        );
    }

    /// Returns the items whose boxes share a point with `area`.
    pub fn within(&self, area: Bounds) -> impl Iterator<Item = usize> + '_ {
        checkpoint();
        let found = self
            .tree
            .query_iter(area.min.x, area.min.y, area.max.x, area.max.y);
        found.map(|number| self.item(number))
    }

    /// Returns the items whose boxes are at most `reach` mm from `area`.
    pub fn around(&self, area: Bounds, reach: f64) -> Vec<usize> {
        let mut found = Vec::new();
        self.visit_around(area, reach, |item, _| found.push(item));
        found
    }

    /// Calls `visit` for each item that [`Self::around`] gives, and its box.
    pub fn visit_around(&self, area: Bounds, reach: f64, mut visit: impl FnMut(usize, Bounds)) {
        let (boxes, children, levels) = (
            self.tree.all_boxes(),
            self.tree.all_box_indices(),
            self.tree.level_bounds(),
        );
        let Some(root) = boxes.len().checked_sub(1) else {
            return;
        };
        let mut nodes = Vec::with_capacity(NODES_AT_ONCE);
        nodes.push((children[root], levels.len() - 1));
        while let Some((start, level)) = nodes.pop() {
            checkpoint();
            let end = (start + self.tree.node_size()).min(levels[level - 1]);
            for pos in start..end {
                let held = bounds(&boxes[pos]);
                if !held.is_within(reach, area) {
                    continue;
                }
                if level > 1 {
                    nodes.push((children[pos], level - 1));
                } else {
                    visit(self.item(children[pos]), held);
                }
            }
        }
    }

    /// Returns the box round all items; `None` when there are none.
    pub fn bounds(&self) -> Option<Bounds> {
        self.tree.bounds().map(|all| bounds(&all))
    }

    /// Finds the item nearest to `p` and its distance, if nearer than `within` mm. `distance` gives an item's true
    /// distance (infinite to pass it over), which is never less than that of its box.
    pub fn nearest(
        &self,
        p: Point,
        within: f64,
        stack: &mut NearestStack,
        mut distance: impl FnMut(usize) -> f64,
    ) -> Option<(usize, f64)> {
        let (mut best, mut found) = (within, None);
        self.closest_first(p, within, stack, |item| {
            let d = distance(item);
            if d < best {
                (best, found) = (d, Some(item));
            }
            best
        });
        found.map(|item| (item, best))
    }

    /// Calls `visit` for every item whose box may be as near to `p` as the best found so far, the nearest boxes of
    /// each node first. `visit` returns the distance of that best, or [`STOP_SEARCH`]; it begins at `reach`.
    pub fn closest_first(
        &self,
        p: Point,
        reach: f64,
        stack: &mut NearestStack,
        visit: impl FnMut(usize) -> f64,
    ) {
        self.closest_first_but(|_| false, Bounds::of([p]), reach, stack, visit);
    }

    /// Returns the label of each node of the tree: that of all its items, or `None` where they have several.
    pub fn node_labels(&self, of: impl Fn(usize) -> usize) -> NodeLabels {
        let (children, levels) = (self.tree.all_box_indices(), self.tree.level_bounds());
        let items = levels.first().copied().unwrap_or(0);
        let mut labels: Vec<Option<usize>> = children[..items]
            .iter()
            .map(|&i| Some(of(self.item(i))))
            .collect();
        for level in levels.windows(2) {
            for &start in &children[level[0]..level[1]] {
                let below = &labels[start..(start + self.tree.node_size()).min(level[0])];
                labels.push(below[0].filter(|_| below.iter().all(|label| *label == below[0])));
            }
        }
        NodeLabels(labels)
    }

    /// Calls `visit` as [`Self::closest_first`] for the items near `area` that do not have the label `own`. However many have it, they
    /// cost next to nothing where they lie together.
    pub fn closest_of_others(
        &self,
        (labels, own): (&NodeLabels, usize),
        area: Bounds,
        reach: f64,
        stack: &mut NearestStack,
        visit: impl FnMut(usize) -> f64,
    ) {
        self.closest_first_but(|pos| labels.0[pos] == Some(own), area, reach, stack, visit);
    }

    fn closest_first_but(
        &self,
        skip: impl Fn(usize) -> bool,
        area: Bounds,
        reach: f64,
        stack: &mut NearestStack,
        mut visit: impl FnMut(usize) -> f64,
    ) {
        let (boxes, children, levels) = (
            self.tree.all_boxes(),
            self.tree.all_box_indices(),
            self.tree.level_bounds(),
        );
        let Some(root) = boxes.len().checked_sub(1) else {
            return;
        };
        let mut best = reach;
        let stack = &mut stack.0;
        stack.clear();
        stack.push((0.0, children[root], levels.len() - 1));
        while let Some((square, start, level)) = stack.pop() {
            checkpoint();
            if square > best * best {
                continue;
            }
            let end = (start + self.tree.node_size()).min(levels[level - 1]);
            let first = stack.len();
            for pos in start..end {
                let square = bounds(&boxes[pos]).square_apart(area);
                if square > best * best || skip(pos) {
                    continue;
                }
                if level > 1 {
                    stack.push((square, children[pos], level - 1));
                } else {
                    best = visit(self.item(children[pos]));
                    if best < 0.0 {
                        return;
                    }
                }
            }
            stack[first..].sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
        }
    }

    /// Calls `visit` for every item whose box reaches into the ball that touches `p` along the unit vector `normal`,
    /// the boxes of each node nearest to `p` first. `visit` returns the radius that the ball has from then on, never
    /// larger than before; it begins at `radius`.
    pub fn into_tangent_ball(
        &self,
        p: Point,
        normal: Vector,
        radius: f64,
        stack: &mut NearestStack,
        mut visit: impl FnMut(usize) -> f64,
    ) {
        let (boxes, children, levels) = (
            self.tree.all_boxes(),
            self.tree.all_box_indices(),
            self.tree.level_bounds(),
        );
        let Some(root) = boxes.len().checked_sub(1) else {
            return;
        };
        let (mut radius, mut center) = (radius, p + normal * radius);
        let square_from = |q: Point, b: &AABB<f64>| bounds(b).square_apart(Bounds { min: q, max: q });
        let stack = &mut stack.0;
        stack.clear();
        stack.push((0.0, root, levels.len() - 1));
        let mut nodes = 0;
        while let Some((_, node, level)) = stack.pop() {
            checkpoint_each(nodes);
            nodes += 1;
            if square_from(center, &boxes[node]) > radius * radius {
                continue;
            }
            let start = children[node];
            let end = (start + self.tree.node_size()).min(levels[level - 1]);
            let first = stack.len();
            for pos in start..end {
                let b = &boxes[pos];
                if square_from(center, b) > radius * radius {
                    continue;
                }
                if level > 1 {
                    stack.push((square_from(p, b), pos, level - 1));
                    continue;
                }
                let smaller = visit(self.item(children[pos]));
                if smaller < radius {
                    (radius, center) = (smaller, p + normal * smaller);
                }
            }
            stack[first..].sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
        }
    }
}

#[inline]
fn bounds(b: &AABB<f64>) -> Bounds {
    Bounds {
        min: Point::new(b.min_x, b.min_y),
        max: Point::new(b.max_x, b.max_y),
    }
}

/// What all items under a node of a [`BoxIndex`] have in common.
pub struct NodeLabels(Vec<Option<usize>>);

/// Memory that one search for the nearest leaves to the next.
#[derive(Debug, Default)]
pub struct NearestStack(Vec<(f64, usize, usize)>);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thing_far_away_leaves_neighbours_together() {
        let spot =
            |i: usize| Point::default() + super::super::Vector::unit(i as f64 * 2.4) * (i as f64).sqrt();
        let spread = |far: Option<Point>| {
            // Neighbours far from one another in the list.
            let points: Vec<Point> = (0..10_000).map(|i| spot(i * 7919 % 10_000)).chain(far).collect();
            let index = BoxIndex::new(points.iter().map(|&p| Bounds::of([p])));
            assert_eq!(index.around(Bounds::of([points[77]]), 1e-9), [77]);
            let groups = index.in_order().chunks(index.group_size());
            let diagonals = groups.map(|group| Bounds::of(group.iter().map(|&i| points[i])).diagonal());
            diagonals.filter(|&diagonal| diagonal < 1e6).sum::<f64>()
        };
        let near = spread(None);
        let with_far = spread(Some(Point::new(1e9, -1e9)));
        assert!(with_far < 2.0 * near, "{with_far} to {near}");
    }

    #[test]
    fn the_nearest_of_many_is_found_as_by_trying_all() {
        // A spiral of points, so that all distances differ.
        for count in [0usize, 1, 5, 16, 17, 300, 5000] {
            let points: Vec<Point> = (0..count)
                .map(|i| Point::default() + super::super::Vector::unit(i as f64 * 2.4) * (i as f64).sqrt())
                .collect();
            let index = BoxIndex::new(points.iter().map(|&p| Bounds::of([p])));
            let mut stack = NearestStack::default();
            for (x, y, within) in [
                (0.3, 0.2, 10.0),
                (-17.0, 31.0, 100.0),
                (5.0, -9.0, 0.4),
                (900.0, 0.0, 1.0),
            ] {
                let p = Point::new(x, y);
                let tried = (0..count)
                    .map(|i| (i, p.distance(points[i])))
                    .filter(|&(_, d)| d < within)
                    .min_by(|a, b| a.1.total_cmp(&b.1));
                assert_eq!(
                    index.nearest(p, within, &mut stack, |i| p.distance(points[i])),
                    tried
                );
            }
        }
    }
}
