//! The order in which boxes are added, where the tree's own would not keep neighbours together.
//!
//! The tree sorts boxes along a curve through 65 536 × 65 536 cells of their common bounds. One stray thing far away, and all
//! the rest lies in a few cells, within which it is not sorted. The order in which boxes were added stays in such a cell, so
//! there they are added in tiles (S. Leutenegger, M. Lopez, J. Edgington, "STR: a simple and efficient algorithm for R-tree
//! packing", Proc. 13th Int. Conf. on Data Engineering, 1997, 497–506; from memory).

use rayon::prelude::*;

use crate::cancel::asking;
use crate::geometry::{Bounds, Point};

/// Cells of the tree's curve along each axis.
const CELLS: f64 = 65_536.0;

/// Boxes that share a leaf of the tree.
pub(super) const LEAF: usize = 16;

/// From so many boxes some are looked at to see how they lie.
const SAMPLES: usize = 256;

/// Whether most of the boxes lie so close together against the bounds of all that many share a cell.
pub(super) fn crowded(boxes: &[Bounds]) -> bool {
    if boxes.len() <= SAMPLES {
        return false;
    }
    let all = boxes.iter().copied().fold(Bounds::EMPTY, Bounds::union);
    let cells = |extent: f64, axis: fn(Point) -> f64| {
        let step = boxes.len() / SAMPLES;
        let mut places: Vec<f64> = boxes.iter().step_by(step).map(|b| axis(b.center())).collect();
        places.sort_unstable_by(f64::total_cmp);
        // Where four fifths of them lie.
        let most = places[places.len() * 9 / 10] - places[places.len() / 10];
        (CELLS * most / extent).max(1.0)
    };
    let taken = cells(all.width(), |p| p.x) * cells(all.height(), |p| p.y);
    boxes.len() as f64 > taken * LEAF as f64
}

/// Returns the numbers of the boxes in strips from left to right, each from below to above.
pub(super) fn tiled(boxes: &[Bounds]) -> Vec<usize> {
    let by = |axis: fn(Point) -> f64| {
        move |&i: &usize, &j: &usize| {
            axis(boxes[i].center())
                .total_cmp(&axis(boxes[j].center()))
                .then(i.cmp(&j))
        }
    };
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.par_sort_unstable_by(asking(by(|p| p.x)));
    let leaves = boxes.len().div_ceil(LEAF) as f64;
    let strip = LEAF * leaves.sqrt().ceil() as usize;
    for strip in order.chunks_mut(strip.max(1)) {
        strip.sort_unstable_by(asking(by(|p| p.y)));
    }
    order
}
