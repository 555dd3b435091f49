//! What lies near each of many segments, looked up for several of them at once where they are short and follow one another.

use super::PathFlaw;
use crate::geometry::{Bounds, Segment, SegmentIndex};

/// Segments looked up together at most.
const TOGETHER: usize = 16;

/// Stretches are no longer than this share of the distance at which others are looked for: of a longer one too much that is
/// near to some of it is far from the rest.
const SHARE_OF_DISTANCE: f64 = 0.25;

/// A segment of an index.
#[derive(Clone, Copy)]
pub(super) struct Near {
    /// Its number there.
    pub(super) number: usize,
    pub(super) segment: Segment,
    bounds: Bounds,
}

/// Calls `visit` for each of `segments`, in their order, with its number and the segments of `index` whose bounds are at
/// most `reach` mm from its own. `distance` mm is how far away most of them lie.
pub(super) fn near_each(
    segments: &[Segment],
    index: &SegmentIndex,
    reach: f64,
    distance: f64,
    mut visit: impl FnMut(usize, Segment, &[Near]) -> Result<(), PathFlaw>,
) -> Result<(), PathFlaw> {
    let (mut near, mut own) = (Vec::new(), Vec::new());
    let mut first = 0;
    while first < segments.len() {
        let mut all = segments[first].bounds();
        let together = segments[first + 1..]
            .iter()
            .take(TOGETHER - 1)
            .take_while(|segment| {
                let grown = all.union(segment.bounds());
                let short = grown.width() + grown.height() <= SHARE_OF_DISTANCE * distance;
                if short {
                    all = grown;
                }
                short
            })
            .count();
        near.clear();
        index.visit_around(all, reach, |number| {
            let segment = index.segments()[number];
            near.push(Near {
                number,
                segment,
                bounds: segment.bounds(),
            });
        });
        for (i, &segment) in segments.iter().enumerate().skip(first).take(together + 1) {
            if together == 0 {
                visit(i, segment, &near)?;
            } else {
                let bounds = segment.bounds();
                own.clear();
                own.extend(near.iter().filter(|other| other.bounds.is_within(reach, bounds)));
                visit(i, segment, &own)?;
            }
        }
        first += together + 1;
    }
    Ok(())
}
