//! Finds loops drawn twice.

use super::alike::AlikeBounds;
use super::draft::DraftContour;
use super::facts::{DuplicateContour, Facts};
use crate::cancel::checkpoint;
use crate::geometry::{Bounds, BoxIndex, NearestStack, Polyline, Segment};
use crate::tolerance::{NEAR_DOUBLE_MM, SAME_POINT_MM};

/// Loops with more segments than this are compared through an index.
const INDEXED_SEGMENTS: usize = 32;

/// Marks every loop that lies within the join tolerance of an earlier one all along, and notes those that only
/// nearly do; the latter are not marked, since which of the two is meant cannot be told.
pub(super) fn mark_double_loops(lines: &mut [DraftContour], join_mm: f64, facts: &mut Facts) {
    let loops: Vec<usize> = (0..lines.len()).filter(|&i| lines[i].polyline.closed).collect();
    let bounds: Vec<Bounds> = loops.iter().map(|&i| lines[i].polyline.bounds()).collect();
    let reach = NEAR_DOUBLE_MM.max(join_mm);
    let exact = join_mm.max(SAME_POINT_MM);
    let mut nearest = NearestStack::default();
    // The earlier ones that repeat none.
    let mut alike = AlikeBounds::within(2.0 * reach);
    for (k, &i) in loops.iter().enumerate() {
        let corner = Bounds::of([bounds[k].min]).grown(reach);
        let is_like = |&j: &usize| {
            corner.contains(bounds[j].min) && bounds[j].max.distance(bounds[k].max) <= 2.0 * reach
        };
        let near = alike.near(bounds[k]).flatten().copied();
        let mut like: Vec<usize> = near.filter(is_like).map(|j| loops[j]).collect();
        like.sort_unstable();
        for j in like {
            checkpoint();
            let distance_mm = apart(&lines[i].polyline, &lines[j].polyline, reach, &mut nearest);
            if let Some(distance_mm) = distance_mm {
                lines[i].double = distance_mm <= exact;
                facts.duplicate_contours.push(DuplicateContour {
                    curve: lines[i].curves[0],
                    kept: lines[j].curves[0],
                    distance_mm,
                    left_out: lines[i].double,
                });
                break;
            }
        }
        if !lines[i].double {
            alike.add(k, bounds[k]);
        }
    }
}

/// Computes the largest distance between two loops, at their vertices and the middles of their segments both ways;
/// `None` when above `reach`.
fn apart(a: &Polyline, b: &Polyline, reach: f64, stack: &mut NearestStack) -> Option<f64> {
    // The strip between two such loops is no wider than the reach.
    if (a.area().abs() - b.area().abs()).abs() > reach * a.length().max(b.length()) {
        return None;
    }
    Some(one_way(a, b, reach, stack)?.max(one_way(b, a, reach, stack)?))
}

fn one_way(from: &Polyline, to: &Polyline, reach: f64, stack: &mut NearestStack) -> Option<f64> {
    let index =
        (to.segment_count() > INDEXED_SEGMENTS).then(|| BoxIndex::new(to.segments().map(Segment::bounds)));
    let mut largest = 0.0f64;
    for p in from.segments().flat_map(|s| [s.from, s.at(0.5)]) {
        let distance = match &index {
            // Just above the limit, so that the limit itself is found.
            Some(index) => {
                let within = reach + SAME_POINT_MM;
                index.nearest(p, within, stack, |i| to.segment(i).distance(p))?.1
            }
            None => to.segments().map(|s| s.distance(p)).fold(f64::INFINITY, f64::min),
        };
        if distance > reach {
            return None;
        }
        largest = largest.max(distance);
    }
    Some(largest)
}
