//! Which contour lies within which, by exact winding.

use std::ops::ControlFlow;

use super::Contour;
use crate::geometry::{Bounds, BoxIndex, Point, Polyline, Segment};

/// Contours with more segments than this get an index of their own before many others are tried against them.
const INDEXED_SEGMENTS: usize = 64;

/// How many points of a contour are asked; the majority decides where it touches or crosses another one.
const WITNESSES: usize = 5;

/// For each of `members` (indices into `contours`) that is a loop, or the loops among them that enclose it:
/// its depth and the index of the one that encloses it directly.
pub(super) fn nest(contours: &[Contour], members: &[usize]) -> Vec<(usize, Option<usize>)> {
    let loops: Vec<usize> = members
        .iter()
        .copied()
        .filter(|&i| contours[i].polyline.closed)
        .collect();
    let index = BoxIndex::new(loops.iter().map(|&i| contours[i].bounds));
    let mut tests: Vec<Option<Inside<'_>>> = loops.iter().map(|_| None).collect();
    let mut stack = Vec::new();
    let mut around = Vec::new();
    members
        .iter()
        .map(|&i| {
            let contour = &contours[i];
            around.clear();
            index.overlapping(Bounds::of([contour.bounds.center()]), &mut stack, |k| {
                let other = &contours[loops[k]];
                let larger = other.area_mm2 > contour.area_mm2
                    || (other.area_mm2 == contour.area_mm2 && other.id < contour.id);
                if other.id != contour.id && larger {
                    around.push(k);
                }
                ControlFlow::Continue(())
            });
            around.sort_unstable();
            let mut depth = 0;
            let mut parent: Option<usize> = None;
            for &k in &around {
                let other = tests[k].get_or_insert_with(|| Inside::new(&contours[loops[k]]));
                if !other.holds(&contour.polyline, &mut stack) {
                    continue;
                }
                depth += 1;
                if parent.is_none_or(|p| contours[loops[k]].area_mm2 < contours[p].area_mm2) {
                    parent = Some(loops[k]);
                }
            }
            (depth, parent)
        })
        .collect()
}

/// Asks whether points lie within one loop.
struct Inside<'a> {
    polyline: &'a Polyline,
    bounds: Bounds,
    segments: Option<BoxIndex>,
}

impl<'a> Inside<'a> {
    fn new(contour: &'a Contour) -> Self {
        let polyline = &contour.polyline;
        Self {
            polyline,
            bounds: contour.bounds,
            segments: (polyline.segment_count() > INDEXED_SEGMENTS)
                .then(|| BoxIndex::new(polyline.segments().map(Segment::bounds))),
        }
    }

    /// Whether most witness points of `other` lie within.
    fn holds(&self, other: &Polyline, stack: &mut Vec<usize>) -> bool {
        let count = other.segment_count();
        let witnesses = count.min(WITNESSES);
        let inside = (0..witnesses)
            .filter(|w| self.winding(other.segment(w * count / witnesses).at(0.5), stack) != 0)
            .count();
        2 * inside > witnesses
    }

    fn winding(&self, p: Point, stack: &mut Vec<usize>) -> i32 {
        let Some(segments) = &self.segments else {
            return self.polyline.winding(p);
        };
        let mut winding = 0;
        let to_the_right = Bounds {
            min: p,
            max: Point::new(self.bounds.max.x.max(p.x), p.y),
        };
        segments.overlapping(to_the_right, stack, |i| {
            winding += self.polyline.segment(i).winding(p);
            ControlFlow::Continue(())
        });
        winding
    }
}
