//! Finds which of many loops have nearly the same bounds as one.

use std::collections::HashMap;

use crate::geometry::Bounds;

/// How much each side of the bounds moves either coordinate of their place: loops that share a corner, a middle or a size have different ones.
const SHARES: [[f64; 4]; 2] = [[1.0, 0.618, 0.414, 0.732], [0.618, 1.0, 0.732, -0.414]];

/// Loops by their bounds. What many have in common, a corner or a width, does not bring them together.
pub(super) struct AlikeBounds {
    cell_mm: f64,
    /// In the order in which they were added.
    cells: HashMap<[i64; 2], Vec<usize>>,
}

impl AlikeBounds {
    /// Makes a list of none yet. Those whose least and whose largest corners are each no more than `apart_mm` apart are told as alike.
    pub(super) fn within(apart_mm: f64) -> Self {
        Self {
            // Of bounds that differ by as much on all four sides the places differ by no more: two and three quarters, and a little.
            cell_mm: 2.8 * apart_mm,
            cells: HashMap::new(),
        }
    }

    /// Adds one under a number.
    pub(super) fn add(&mut self, number: usize, bounds: Bounds) {
        self.cells.entry(self.cell(bounds)).or_default().push(number);
    }

    /// Returns lists of numbers, each in the order in which they were added, among which are those of all loops alike.
    pub(super) fn near(&self, bounds: Bounds) -> impl Iterator<Item = &[usize]> {
        let [x, y] = self.cell(bounds);
        let around = |at: i64| [at.saturating_sub(1), at, at.saturating_add(1)];
        let cells = around(x).into_iter().flat_map(move |x| around(y).map(|y| [x, y]));
        cells.filter_map(|cell| Some(self.cells.get(&cell)?.as_slice()))
    }

    fn cell(&self, bounds: Bounds) -> [i64; 2] {
        let sides = [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y];
        SHARES.map(|shares| {
            let place: f64 = sides.iter().zip(shares).map(|(side, share)| side * share).sum();
            (place / self.cell_mm).floor() as i64
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;

    fn square(x: f64, y: f64, side: f64) -> Bounds {
        Bounds::of([Point::new(x, y), Point::new(x + side, y + side)])
    }

    #[test]
    fn those_with_the_same_bounds_are_found_and_few_others() {
        let apart_mm = 0.04;
        let fields: [fn(usize) -> Bounds; 4] = [
            |i| square(f64::from(i as u32 % 50), f64::from(i as u32 / 50), 1.0),
            // Round one point, out of one corner, and of one height along a line.
            |i| square(-(i as f64), -(i as f64), 2.0 * i as f64),
            |i| square(0.0, 0.0, i as f64),
            |i| square(i as f64, 0.0, 3.0),
        ];
        for field in fields {
            let mut alike = AlikeBounds::within(apart_mm);
            for i in 0..2500 {
                alike.add(i, field(i));
            }
            for i in 0..2500 {
                let off = if i % 2 == 0 {
                    0.999 * apart_mm
                } else {
                    -0.999 * apart_mm
                };
                let mut bounds = field(i);
                (bounds.min.x, bounds.max.y) = (bounds.min.x + off, bounds.max.y - off);
                let found: Vec<usize> = alike.near(bounds).flatten().copied().collect();
                assert!(found.contains(&i));
                assert!(found.len() < 10, "{found:?}");
            }
        }
    }
}
