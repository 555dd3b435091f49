//! The shortest way through many places: nearest neighbour first, then improved by 2-opt.
//!
//! 2-opt turns a stretch of the way round where that makes it shorter. Only ends that are near neighbours are tried
//! (J. L. Bentley, Fast Algorithms for Geometric Traveling Salesman Problems, ORSA Journal on Computing 4, 1992: neighbour
//! lists and don't-look bits; from memory, not verified), so that the cost stays near-linear in the places.

use std::collections::VecDeque;

use crate::cancel::checkpoint;
use crate::geometry::{Bounds, BoxIndex, NearestStack, Point};
use crate::tolerance::ROUNDING;

/// How many neighbours of a place are tried.
const NEIGHBOURS: usize = 8;

/// The order in which to visit all `places` on a short way that begins at `from` and ends anywhere.
pub(super) fn route(places: &[Point], from: Point) -> Vec<usize> {
    let boxes = BoxIndex::new(places.iter().map(|&p| Bounds::of([p])));
    let mut way = Tour::new(places, from, nearest_first(places, from));
    way.improve(&neighbours(places, &boxes));
    way.order
}

/// Each time to the nearest place not yet visited; of equals, to the one of the lowest number.
fn nearest_first(places: &[Point], from: Point) -> Vec<usize> {
    let mut left = Unvisited::new(places);
    let mut order = Vec::with_capacity(places.len());
    let mut at = from;
    while let Some(next) = left.take_nearest(at) {
        checkpoint();
        order.push(next);
        at = places[next];
    }
    order
}

/// Places not yet visited, by squares of a grid.
struct Unvisited<'a> {
    places: &'a [Point],
    bounds: Bounds,
    size: f64,
    columns: usize,
    squares: Vec<Vec<usize>>,
    rows: usize,
}

impl<'a> Unvisited<'a> {
    /// Squares of about two places each.
    fn new(places: &'a [Point]) -> Self {
        const IN_A_SQUARE: f64 = 2.0;
        let bounds = Bounds::of(places.iter().copied());
        let count = (places.len() as f64 / IN_A_SQUARE).max(1.0);
        let by_area = (bounds.width() * bounds.height() / count).sqrt();
        // Places on one line have no area.
        let size = by_area.max(bounds.width().max(bounds.height()) / count);
        let many = |length: f64| {
            if size > 0.0 {
                (length / size) as usize + 1
            } else {
                1
            }
        };
        let (columns, rows) = if places.is_empty() {
            (1, 1)
        } else {
            (many(bounds.width()), many(bounds.height()))
        };
        let mut left = Self {
            places,
            bounds,
            size,
            columns,
            rows,
            squares: vec![Vec::new(); columns * rows],
        };
        for (i, &p) in places.iter().enumerate() {
            let (column, row) = left.square(p);
            left.squares[row * columns + column].push(i);
        }
        left
    }

    fn square(&self, p: Point) -> (usize, usize) {
        let place = |mm: f64, count: usize| {
            let number = if self.size > 0.0 { mm / self.size } else { 0.0 };
            (number.max(0.0) as usize).min(count - 1)
        };
        (
            place(p.x - self.bounds.min.x, self.columns),
            place(p.y - self.bounds.min.y, self.rows),
        )
    }

    /// The nearest place to `at`, which is then left no more.
    fn take_nearest(&mut self, at: Point) -> Option<usize> {
        let (column, row) = self.square(at);
        let mut best: Option<(f64, usize, usize)> = None;
        for ring in 0..self.columns.max(self.rows) {
            checkpoint();
            // What lies in this ring is at least so far off.
            let least = ring.saturating_sub(1) as f64 * self.size;
            if best.is_some_and(|(mm, _, _)| mm < least) {
                break;
            }
            let mut look = |r: usize, c: usize| {
                let square = r * self.columns + c;
                for &i in &self.squares[square] {
                    let found = (at.distance(self.places[i]), i, square);
                    if best.is_none_or(|known| (found.0, found.1) < (known.0, known.1)) {
                        best = Some(found);
                    }
                }
            };
            let (left, right) = (column.checked_sub(ring), column + ring);
            for r in row.saturating_sub(ring)..=(row + ring).min(self.rows - 1) {
                if r.abs_diff(row) == ring {
                    for c in left.unwrap_or(0)..=right.min(self.columns - 1) {
                        look(r, c);
                    }
                    continue;
                }
                for c in [left, Some(right).filter(|c| *c < self.columns)]
                    .into_iter()
                    .flatten()
                {
                    look(r, c);
                }
            }
        }
        let (_, i, square) = best?;
        self.squares[square].retain(|&held| held != i);
        Some(i)
    }
}

/// The nearest neighbours of each place, nearest first.
fn neighbours(places: &[Point], boxes: &BoxIndex) -> Vec<Vec<usize>> {
    let mut stack = NearestStack::default();
    let of = |(i, &p): (usize, &Point)| {
        let mut near: Vec<(f64, usize)> = Vec::with_capacity(NEIGHBOURS + 1);
        boxes.closest_first(p, f64::INFINITY, &mut stack, |j| {
            if j != i {
                near.push((p.distance(places[j]), j));
                near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                near.truncate(NEIGHBOURS);
            }
            if near.len() < NEIGHBOURS {
                f64::INFINITY
            } else {
                near[NEIGHBOURS - 1].0
            }
        });
        near.into_iter().map(|(_, j)| j).collect()
    };
    places.iter().enumerate().map(of).collect()
}

/// A way through all places, from a fixed beginning.
struct Tour<'a> {
    places: &'a [Point],
    from: Point,
    order: Vec<usize>,
    /// Where each place stands in `order`.
    position: Vec<usize>,
}

impl<'a> Tour<'a> {
    fn new(places: &'a [Point], from: Point, order: Vec<usize>) -> Self {
        let mut position = vec![0; order.len()];
        for (k, &i) in order.iter().enumerate() {
            position[i] = k;
        }
        Self {
            places,
            from,
            order,
            position,
        }
    }

    /// Turns stretches round as long as that makes the way shorter.
    fn improve(&mut self, neighbours: &[Vec<usize>]) {
        let mut waiting: VecDeque<usize> = self.order.iter().copied().collect();
        let mut waits = vec![true; self.places.len()];
        while let Some(a) = waiting.pop_front() {
            checkpoint();
            waits[a] = false;
            while let Some(ends) = neighbours[a].iter().find_map(|&c| self.shorten(a, c)) {
                for end in ends.into_iter().flatten().filter(|&end| end != a) {
                    if !std::mem::replace(&mut waits[end], true) {
                        waiting.push_back(end);
                    }
                }
            }
        }
    }

    /// Joins `a` and `c` by turning a stretch round, if that makes the way shorter: the places whose neighbours changed.
    fn shorten(&mut self, a: usize, c: usize) -> Option<[Option<usize>; 4]> {
        let (first, second) = if self.position[a] < self.position[c] {
            (a, c)
        } else {
            (c, a)
        };
        let (i, k) = (self.position[first], self.position[second]);
        // … first next … second after …: the stretch from next to second is turned.
        let (next, after) = (self.order[i + 1], self.order.get(k + 1).copied());
        if self.saves(Some(first), Some(next), Some(second), after) {
            self.turn(i + 1, k);
            return Some([Some(first), Some(next), Some(second), after]);
        }
        // … before first … last second …: the stretch from first to last is turned.
        let before = i.checked_sub(1).map(|i| self.order[i]);
        let last = self.order[k - 1];
        if self.saves(before, Some(first), Some(last), Some(second)) {
            self.turn(i, k - 1);
            return Some([before, Some(first), Some(last), Some(second)]);
        }
        None
    }

    /// Whether `a b … c d` is longer than `a c … b d`. Before the first place stands the beginning, after the last nothing.
    fn saves(&self, a: Option<usize>, b: Option<usize>, c: Option<usize>, d: Option<usize>) -> bool {
        let at = |place: Option<usize>| place.map_or(self.from, |i| self.places[i]);
        let to_end = |c: Option<usize>| d.map_or(0.0, |d| at(c).distance(self.places[d]));
        let before = at(a).distance(at(b)) + to_end(c);
        let after = at(a).distance(at(c)) + to_end(b);
        before - after > ROUNDING * (before + after)
    }

    fn turn(&mut self, from: usize, to: usize) {
        self.order[from..=to].reverse();
        for k in from..=to {
            self.position[self.order[k]] = k;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(places: &[Point], from: Point, order: &[usize]) -> f64 {
        let stops = std::iter::once(from).chain(order.iter().map(|&i| places[i]));
        let stops: Vec<Point> = stops.collect();
        stops.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
    }

    fn visits_all(places: &[Point], order: &[usize]) {
        let mut seen = order.to_vec();
        seen.sort_unstable();
        assert_eq!(seen, (0..places.len()).collect::<Vec<_>>());
    }

    /// A grid of n places takes n − 1 pitches from a corner, and no way is shorter: every step is at least one pitch.
    #[test]
    fn a_grid_is_walked_within_a_tenth_of_the_shortest_way() {
        for (columns, rows) in [(20usize, 10usize), (100, 100), (7, 31), (1, 50)] {
            // In a scrambled order, so that the numbers of the places give nothing away.
            let count = columns * rows;
            let step = (count / 2..=count + 1)
                .find(|s| gcd(*s, count) == 1)
                .expect("a coprime");
            let places: Vec<Point> = (0..count)
                .map(|i| (i * step) % count)
                .map(|i| Point::new(10.0 * (i % columns) as f64, 10.0 * (i / columns) as f64))
                .collect();
            let order = route(&places, Point::default());
            visits_all(&places, &order);
            let shortest = 10.0 * (count - 1) as f64;
            let found = length(&places, Point::default(), &order);
            assert!(
                found >= shortest - 1e-9 && found <= 1.1 * shortest,
                "{columns} × {rows}: {found} instead of {shortest}"
            );
        }
    }

    fn gcd(a: usize, b: usize) -> usize {
        if b == 0 { a } else { gcd(b, a % b) }
    }

    /// Against all orders of a few places.
    #[test]
    fn few_places_are_visited_nearly_as_short_as_can_be() {
        let mut seed = 7u64;
        let mut next = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 33) as f64 / f64::from(1u32 << 31)
        };
        let (mut sum, mut least) = (0.0, 0.0);
        for _ in 0..40 {
            let places: Vec<Point> = (0..7)
                .map(|_| Point::new(100.0 * next(), 100.0 * next()))
                .collect();
            let order = route(&places, Point::default());
            visits_all(&places, &order);
            let found = length(&places, Point::default(), &order);
            let best = shortest(&places, Point::default(), &mut (0..7).collect(), 0);
            assert!(
                found >= best - 1e-9 && found <= 1.35 * best,
                "{found} instead of {best}"
            );
            (sum, least) = (sum + found, least + best);
        }
        assert!(sum <= 1.06 * least, "{sum} instead of {least}");
    }

    fn shortest(places: &[Point], from: Point, order: &mut Vec<usize>, fixed: usize) -> f64 {
        if fixed == order.len() {
            return length(places, from, order);
        }
        let mut best = f64::INFINITY;
        for i in fixed..order.len() {
            order.swap(fixed, i);
            best = best.min(shortest(places, from, order, fixed + 1));
            order.swap(fixed, i);
        }
        best
    }

    #[test]
    fn nothing_one_place_and_equal_places_are_visited_too() {
        assert!(route(&[], Point::default()).is_empty());
        assert_eq!(route(&[Point::new(3.0, 4.0)], Point::default()), [0]);
        let same = vec![Point::new(3.0, 4.0); 30];
        visits_all(&same, &route(&same, Point::default()));
    }
}
