//! Curve ends that lie within the join tolerance become one node.
//!
//! Ends are sorted into columns as wide as the tolerance, so that only near neighbours are compared. Ends
//! linked through one another form a cluster. A compact cluster is one node. A long-drawn one (a string of
//! crumbs, each shorter than the tolerance) must not shrink to a point, so there coincident ends are joined
//! first, then loose ends pairwise, nearest first.

use rayon::prelude::*;

use crate::cancel::{asked, asking, checkpoint, checkpoint_each};
use crate::geometry::{Bounds, Point};
use crate::tolerance::SAME_POINT_MM;

/// How many near neighbours of an end are looked at in one column: bounds the cost where thousands of ends
/// crowd within the tolerance, in which case those left out are still joined through one another.
const CROWD: usize = 64;

/// Ends as nodes.
pub(super) struct Nodes {
    /// Node of each end.
    pub of_end: Vec<u32>,
    /// Where each node is: the middle of its ends.
    pub at: Vec<Point>,
    /// Largest distance between two ends of the node, mm (diagonal of their bounds).
    pub spread_mm: Vec<f64>,
}

/// Joins `ends`, of which `2·i` and `2·i + 1` are the two ends of piece `i`.
pub(super) fn join(ends: &[Point], join_mm: f64) -> Nodes {
    let reach = join_mm.max(SAME_POINT_MM);
    let mut order: Vec<Placed> = ends
        .par_iter()
        .enumerate()
        .map(|(end, &at)| Placed {
            column: (at.x / reach).floor() as i64,
            at,
            end: end as u32,
        })
        .collect();
    order.par_sort_unstable_by(asking(|a: &Placed, b: &Placed| {
        (a.column.cmp(&b.column))
            .then(a.at.y.total_cmp(&b.at.y))
            .then(a.at.x.total_cmp(&b.at.x))
            .then(a.end.cmp(&b.end))
    }));
    checkpoint();
    // Ends at the very same place are one spot.
    let mut spots: Vec<SharedEnd> = Vec::with_capacity(order.len());
    for (i, placed) in order.iter().enumerate() {
        checkpoint_each(i);
        match spots.last_mut() {
            Some(spot) if spot.at(&order) == placed.at => spot.past = i as u32 + 1,
            _ => spots.push(SharedEnd {
                first: i as u32,
                past: i as u32 + 1,
            }),
        }
    }
    let mut sets = Sets::new(spots.len());
    for_neighbours(&order, &spots, reach, |i, j| sets.unite(i, j));

    let mut members: Vec<(u32, u32)> = asked(0..spots.len())
        .map(|i| (sets.find(i) as u32, i as u32))
        .collect();
    // Already in order of spots, so a stable sort by root keeps each cluster's spots in column order.
    members.sort_by(asking(|a: &(u32, u32), b: &(u32, u32)| a.0.cmp(&b.0)));
    checkpoint();

    let mut nodes = Nodes {
        of_end: vec![0; ends.len()],
        at: Vec::with_capacity(members.len()),
        spread_mm: Vec::with_capacity(members.len()),
    };
    for cluster in members.chunk_by(|a, b| a.0 == b.0) {
        let bounds = Bounds::of(cluster.iter().map(|&(_, spot)| spots[spot as usize].at(&order)));
        if bounds.diagonal() <= 2.0 * reach {
            nodes.add(&order, cluster.iter().map(|&(_, spot)| spots[spot as usize]));
        } else {
            let local: Vec<SharedEnd> = cluster.iter().map(|&(_, spot)| spots[spot as usize]).collect();
            for group in pairwise(&order, &local, reach) {
                nodes.add(&order, group.into_iter().map(|spot| local[spot]));
            }
        }
    }
    nodes
}

impl Nodes {
    fn add(&mut self, order: &[Placed], spots: impl Iterator<Item = SharedEnd>) {
        checkpoint_each(self.at.len());
        let node = self.at.len() as u32;
        let mut bounds = Bounds::EMPTY;
        for spot in spots {
            bounds = bounds.with_point(spot.at(order));
            for placed in spot.among(order) {
                self.of_end[placed.end as usize] = node;
            }
        }
        let spread = bounds.diagonal();
        self.at
            .push(if spread > 0.0 { bounds.center() } else { bounds.min });
        self.spread_mm.push(spread);
    }
}

/// One end in its column.
#[derive(Clone, Copy)]
struct Placed {
    column: i64,
    at: Point,
    end: u32,
}

/// Ends at the very same place: a range of the sorted ends.
#[derive(Clone, Copy)]
struct SharedEnd {
    first: u32,
    past: u32,
}

impl SharedEnd {
    fn among(self, order: &[Placed]) -> &[Placed] {
        &order[self.first as usize..self.past as usize]
    }

    fn column(self, order: &[Placed]) -> i64 {
        order[self.first as usize].column
    }

    fn at(self, order: &[Placed]) -> Point {
        order[self.first as usize].at
    }
}

/// Calls `visit` for each pair of spots within `reach` of one another. Spots are sorted by column, then y.
fn for_neighbours(order: &[Placed], spots: &[SharedEnd], reach: f64, mut visit: impl FnMut(usize, usize)) {
    let mut next_column = 0;
    for (i, spot) in spots.iter().enumerate() {
        checkpoint_each(i);
        let (column, at) = (spot.column(order), spot.at(order));
        while spots.get(next_column).is_some_and(|other| {
            let next = other.column(order);
            next <= column || (next == column + 1 && other.at(order).y < at.y - reach)
        }) {
            next_column += 1;
        }
        let mut compare = |start: usize, column: i64| {
            for (k, other) in spots[start..].iter().take(CROWD).enumerate() {
                if other.column(order) != column || other.at(order).y > at.y + reach {
                    break;
                }
                if at.distance(other.at(order)) <= reach {
                    visit(i, start + k);
                }
            }
        };
        compare(i + 1, column);
        compare(next_column, column + 1);
    }
}

/// Groups the spots of a long-drawn cluster: single ends pairwise, nearest first, never the two ends of one
/// piece; then what stays single goes to its nearest neighbour, unless the other end of its own piece is nearer.
fn pairwise(order: &[Placed], spots: &[SharedEnd], reach: f64) -> Vec<Vec<usize>> {
    let pieces = |spot: usize| {
        let placed = spots[spot].among(order).iter();
        placed.map(|placed| placed.end / 2)
    };
    let single = |spot: usize| spots[spot].past - spots[spot].first == 1;
    let mut pairs = Vec::new();
    for_neighbours(order, spots, reach, |i, j| {
        pairs.push((spots[i].at(order).distance(spots[j].at(order)), i, j));
    });
    pairs.sort_by(asking(|a: &(f64, usize, usize), b: &(f64, usize, usize)| {
        a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2)))
    }));
    let mut sets = Sets::new(spots.len());
    let mut settled: Vec<bool> = (0..spots.len()).map(|spot| !single(spot)).collect();
    for &(_, i, j) in &pairs {
        if !settled[i] && !settled[j] && !pieces(i).eq(pieces(j)) {
            sets.unite(i, j);
            (settled[i], settled[j]) = (true, true);
        }
    }
    for &(_, i, j) in &pairs {
        for (loose, other) in [(i, j), (j, i)] {
            if !settled[loose] {
                let own_end = pieces(loose).any(|piece| pieces(other).any(|p| p == piece));
                if !own_end {
                    sets.unite(loose, other);
                }
                settled[loose] = true;
            }
        }
    }
    let mut groups: Vec<(usize, usize)> = (0..spots.len()).map(|i| (sets.find(i), i)).collect();
    groups.sort_unstable_by(asking(Ord::cmp));
    groups
        .chunk_by(|a, b| a.0 == b.0)
        .map(|group| group.iter().map(|&(_, spot)| spot).collect())
        .collect()
}

/// Disjoint sets; the root of a set is its lowest member.
struct Sets(Vec<u32>);

impl Sets {
    fn new(count: usize) -> Self {
        Self((0..count as u32).collect())
    }

    fn find(&mut self, item: usize) -> usize {
        let mut item = item;
        while self.0[item] as usize != item {
            self.0[item] = self.0[self.0[item] as usize];
            item = self.0[item] as usize;
        }
        item
    }

    fn unite(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        self.0[a.max(b)] = a.min(b) as u32;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nodes_of(ends: &[(f64, f64)], join_mm: f64) -> Vec<u32> {
        let points: Vec<Point> = ends.iter().map(|&(x, y)| Point::new(x, y)).collect();
        join(&points, join_mm).of_end
    }

    #[test]
    fn ends_within_the_tolerance_are_one_node_wherever_columns_fall() {
        for shift in [0.0, 0.4e-3, -0.9e-3, 1e4] {
            let of = nodes_of(
                &[(shift, 0.0), (5.0, 5.0), (shift + 0.9e-3, 0.2e-3), (9.0, 9.0)],
                1e-3,
            );
            assert_eq!(of[0], of[2], "shift {shift}");
            let of = nodes_of(
                &[(shift, 0.0), (5.0, 5.0), (shift + 1.1e-3, 0.0), (9.0, 9.0)],
                1e-3,
            );
            assert_ne!(of[0], of[2], "shift {shift}");
        }
    }

    #[test]
    fn the_node_of_two_ends_is_half_way() {
        let nodes = join(
            &[
                Point::new(0.0, 0.0),
                Point::new(1.0, 0.0),
                Point::new(0.0, 0.8e-3),
            ],
            1e-3,
        );
        let node = nodes.of_end[0] as usize;
        assert!((nodes.at[node].y - 0.4e-3).abs() < 1e-15);
        assert!((nodes.spread_mm[node] - 0.8e-3).abs() < 1e-15);
    }

    #[test]
    fn a_string_of_crumbs_does_not_shrink_to_a_point() {
        // 100 pieces of 0.5 µm each, ends coincident but for one pair that is 0.2 µm apart.
        let mut ends = Vec::new();
        for i in 0..100 {
            let gap = if i >= 50 { 0.2e-3 } else { 0.0 };
            ends.push((f64::from(i) * 0.5e-3 + gap, 0.0));
            ends.push((f64::from(i + 1) * 0.5e-3 + gap, 0.0));
        }
        let of = nodes_of(&ends, 1e-3);
        for i in 0..99 {
            assert_eq!(of[2 * i + 1], of[2 * i + 2], "joint {i}");
            assert_ne!(of[2 * i], of[2 * i + 1], "piece {i}");
        }
    }
}
