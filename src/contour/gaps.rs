//! Finds the nearest loose end to each loose end.

use rayon::prelude::*;

use super::facts::Gap;
use crate::cancel::asking;
use crate::geometry::{Bounds, BoxIndex, Point};

/// A single run whose own two ends are near each other is an open loop, not a short stroke, when it is longer
/// than this many times their distance.
const LOOP_LENGTH: f64 = 2.0;

/// A loose end of a piece.
pub(super) struct LooseEnd {
    pub at: Point,
    pub piece: u32,
    /// Length of the piece.
    pub piece_mm: f64,
    pub curve: u32,
}

/// Finds the gap between each loose end and the nearest other one within `search_mm`, of several as near the first; each
/// pair once, in order.
pub(super) fn gaps(loose: &[LooseEnd], search_mm: f64) -> Vec<Gap> {
    let search = GapSearch {
        index: BoxIndex::new(loose.iter().map(|end| Bounds::of([end.at]))),
        loose,
        within_mm: search_mm,
    };
    let groups = search.index.in_order().par_chunks(search.index.group_size());
    let mut gaps: Vec<(usize, usize, f64)> = groups
        .map_init(Vec::new, |around, group| search.nearest_to(group, around))
        .flatten_iter()
        .collect();
    gaps.par_sort_unstable_by(asking(|a: &(usize, usize, f64), b: &(usize, usize, f64)| {
        (a.0, a.1).cmp(&(b.0, b.1))
    }));
    gaps.dedup_by_key(|&mut (i, j, _)| (i, j));
    let pairs = gaps.into_iter().map(|(i, j, size_mm)| Gap {
        size_mm,
        from: loose[i].at,
        to: loose[j].at,
        curves: (loose[i].curve as usize, loose[j].curve as usize),
    });
    pairs.collect()
}

struct GapSearch<'a> {
    loose: &'a [LooseEnd],
    index: BoxIndex,
    within_mm: f64,
}

impl GapSearch<'_> {
    /// Finds the nearest other end to each of a `group` that lies side by side, as a pair in order and their distance.
    /// What lies around is looked up once for all of them, no farther than the nearest among themselves.
    fn nearest_to(&self, group: &[usize], around: &mut Vec<usize>) -> Vec<(usize, usize, f64)> {
        let among_themselves = group.iter().map(|&end| self.nearest_of(end, group).size_mm);
        let half_kerf_mm = among_themselves.fold(0.0, f64::max);
        let area = Bounds::of(group.iter().map(|&end| self.loose[end].at));
        around.clear();
        self.index
            .visit_around(area, half_kerf_mm, |other, _| around.push(other));
        let pairs = group.iter().filter_map(|&end| {
            let Nearest { size_mm, other } = self.nearest_of(end, around);
            let other = other?;
            Some((end.min(other), end.max(other), size_mm))
        });
        pairs.collect()
    }

    fn nearest_of(&self, end: usize, others: &[usize]) -> Nearest {
        let mut nearest = Nearest {
            size_mm: self.within_mm,
            other: None,
        };
        let LooseEnd {
            at, piece, piece_mm, ..
        } = self.loose[end];
        for &other in others {
            let size_mm = at.distance(self.loose[other].at);
            let nearer = size_mm < nearest.size_mm
                || (size_mm == nearest.size_mm && nearest.other.is_some_and(|found| other < found));
            if !nearer || other == end {
                continue;
            }
            let stroke = self.loose[other].piece == piece && piece_mm <= LOOP_LENGTH * size_mm;
            if !stroke {
                nearest = Nearest {
                    size_mm,
                    other: Some(other),
                };
            }
        }
        nearest
    }
}

/// The nearest so far: nearer than `size_mm` none was found.
struct Nearest {
    size_mm: f64,
    other: Option<usize>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Vector;

    /// Ends along a spiral, a knot of them at one place, and some far off; two a piece, pieces of many lengths.
    fn ends() -> Vec<LooseEnd> {
        let spiral = (0..500).map(|i| Vector::unit(f64::from(i) * 2.4) * (f64::from(i).sqrt() * 0.2));
        let knot = (0..40).map(|i| Vector::new(100.0, f64::from(i % 5) * 1e-3));
        let far = (0..20).map(|i| Vector::new(-1000.0 * f64::from(i), 1000.0));
        let ends = spiral.chain(knot).chain(far).enumerate();
        ends.map(|(i, v)| LooseEnd {
            at: Point::default() + v,
            piece: i as u32 / 2,
            piece_mm: (i / 2 % 7) as f64,
            curve: i as u32 / 2,
        })
        .collect()
    }

    #[test]
    fn the_gaps_are_those_found_by_trying_all_pairs() {
        let loose = ends();
        for within_mm in [0.3, 1.0, 5000.0] {
            let mut tried = Vec::new();
            for (i, end) in loose.iter().enumerate() {
                let sizes = loose.iter().enumerate().filter_map(|(j, other)| {
                    let size_mm = end.at.distance(other.at);
                    let stroke = end.piece == other.piece && end.piece_mm <= LOOP_LENGTH * size_mm;
                    (i != j && !stroke && size_mm < within_mm).then_some((size_mm, j))
                });
                let nearest = sizes.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                tried.extend(nearest.map(|(_, j)| (i.min(j), i.max(j))));
            }
            tried.sort_unstable();
            tried.dedup();
            let found = gaps(&loose, within_mm);
            let pair = |gap: &Gap| [gap.from, gap.to];
            let tried: Vec<_> = tried.iter().map(|&(i, j)| [loose[i].at, loose[j].at]).collect();
            assert!(tried.len() > 10);
            assert_eq!(
                found.iter().map(pair).collect::<Vec<_>>(),
                tried,
                "within {within_mm} mm"
            );
        }
    }
}
