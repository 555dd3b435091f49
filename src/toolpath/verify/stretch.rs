//! What lies near each of many segments, looked up for several of them at once where they are short and follow one another.

use super::PathFlaw;
use crate::geometry::{Bounds, Point, Segment, SegmentIndex};

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
    pub(super) bounds: Bounds,
    /// The ball round its middle that holds it.
    pub(super) middle: Point,
    pub(super) half_extent: f64,
}

/// Calls `visit` for each of `segments`, in their order, with its number and all segments of `index` that come within `reach` mm
/// of it, and others near to its neighbours. `distance` mm is how far away most of them lie.
pub(super) fn near_each(
    segments: &[Segment],
    index: &SegmentIndex,
    reach: f64,
    distance: f64,
    mut visit: impl FnMut(usize, Segment, &[Near]) -> Result<(), PathFlaw>,
) -> Result<(), PathFlaw> {
    let mut near = Vec::new();
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
        let (center, within) = (all.center(), reach + 0.5 * all.diagonal());
        index.visit_around(all, reach, |number, bounds| {
            let segment = index.segments()[number];
            let (middle, half_extent) = (segment.middle(), segment.half_extent());
            if center.distance(middle) <= within + half_extent {
                near.push(Near {
                    number,
                    segment,
                    bounds,
                    middle,
                    half_extent,
                });
            }
        });
        for (i, &segment) in segments.iter().enumerate().skip(first).take(together + 1) {
            visit(i, segment, &near)?;
        }
        first += together + 1;
    }
    Ok(())
}
