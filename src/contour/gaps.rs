//! Loose ends and the loose ends nearest to them.

use rayon::prelude::*;

use super::facts::{Facts, Gap};
use crate::geometry::{Bounds, BoxIndex, NearestStack, Point};

/// A single run whose own two ends are near each other is an open loop, not a short stroke, when it is longer
/// than this many times their distance.
const LOOP_LENGTH: f64 = 2.0;

/// A loose end of a piece.
pub(super) struct LooseEnd {
    pub at: Point,
    pub piece: u32,
    pub curve: usize,
}

/// Notes, for each loose end, the nearest other one within `search_mm`; a pair is noted once.
pub(super) fn note(
    loose: &[LooseEnd],
    search_mm: f64,
    length_of: impl Fn(u32) -> f64 + Sync,
    facts: &mut Facts,
) {
    let index = BoxIndex::new(loose.iter().map(|end| Bounds::of([end.at])));
    let nearest_to = |stack: &mut NearestStack, &i: &usize| {
        let end = &loose[i];
        let nearest = index.nearest(end.at, search_mm, stack, |j| {
            let size = end.at.distance(loose[j].at);
            let stroke = loose[j].piece == end.piece && length_of(end.piece) <= LOOP_LENGTH * size;
            if j == i || stroke { f64::INFINITY } else { size }
        });
        nearest.map(|(j, size)| (i.min(j), i.max(j), size))
    };
    let mut gaps: Vec<(usize, usize, f64)> = (index.in_order().par_iter())
        .map_init(NearestStack::default, nearest_to)
        .flatten_iter()
        .collect();
    gaps.par_sort_unstable_by_key(|&(i, j, _)| (i, j));
    gaps.dedup_by_key(|&mut (i, j, _)| (i, j));
    facts.gaps.extend(gaps.into_iter().map(|(i, j, size_mm)| Gap {
        size_mm,
        from: loose[i].at,
        to: loose[j].at,
        curves: (loose[i].curve, loose[j].curve),
    }));
}
