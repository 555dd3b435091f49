//! Nests contours by exact winding.

use std::collections::BTreeMap;
use std::ops::ControlFlow;

use super::alike::AlikeBounds;
use super::{Contour, Role, SideFrom};
use crate::cancel::checkpoint;
use crate::geometry::{Bounds, BoxIndex, Point, Polyline, Segment};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::{JOIN_MM, NEARLY_CLOSED_SHARE};

/// Contours with more segments than this get an index of their own before many others are tried against them.
const INDEXED_SEGMENTS: usize = 64;

/// How many points of a contour are tested; the majority decides where it touches or crosses another one.
const WITNESSES: usize = 5;

/// Loops may be nested so deep. Dies nest a few, a sheet of parts a dozen.
pub(crate) const DEEPEST_NEST: usize = 1_000;

/// How many pairs of a contour and a larger loop whose bounds its middle lies in are looked at, for each contour and in all.
const PAIRS_PER_CONTOUR: usize = 200;
const PAIRS_AT_LEAST: usize = 20_000_000;

/// Takes every loop for the outside of a part unless its side is given, where it is not looked at which lies in which.
pub(super) fn leave_apart(list: &mut [Contour]) {
    for contour in list {
        (contour.depth, contour.parent) = (0, None);
        if contour.polyline.closed && contour.side_from != SideFrom::Given {
            contour.role = Role::Outside;
        }
    }
}

/// Fills in depth, parent and role. A given side stands; what lies in it follows from it. Where a contour lies too deep it is returned and
/// not all are filled in.
pub(super) fn place(list: &mut [Contour]) -> Result<(), ContourId> {
    // All edges are nested together, whether they are cut or not.
    let nested_with = |purpose: Purpose| if purpose.is_edge() { Purpose::Cut } else { purpose };
    let mut together: BTreeMap<Purpose, Vec<usize>> = BTreeMap::new();
    for (i, contour) in list.iter().enumerate() {
        together.entry(nested_with(contour.purpose)).or_default().push(i);
    }
    for mut members in together.into_values() {
        for (&i, (depth, parent)) in members.iter().zip(nest(list, &members)?) {
            list[i].parent = parent.map(|p| list[p].id);
            list[i].depth = depth;
        }
        members.sort_by_key(|&i| list[i].depth);
        // Those whose side is given, or follows from one that is; `true` where a rule for many contours gives it.
        let mut settled: BTreeMap<ContourId, bool> = BTreeMap::new();
        for i in members {
            let around = list[i].parent.and_then(|id| Some((id, *settled.get(&id)?)));
            let in_material = match around {
                Some((id, _)) => list[id.index()].role == Role::Outside,
                None => list[i].depth % 2 == 1,
            };
            let nested = if in_material { Role::Opening } else { Role::Outside };
            let by_rule = list[i].ruled_side.is_some();
            // A rule for many gives the side of the outermost of them alone where the one inside would have the other.
            let within_rule = by_rule && around.is_some_and(|(_, by_rule)| by_rule);
            if list[i].side_from == SideFrom::Given && within_rule && list[i].role != nested {
                list[i].side_from = SideFrom::Drawn;
            }
            let given = list[i].side_from == SideFrom::Given;
            let by_rule = if given {
                Some(by_rule)
            } else {
                around.map(|(_, by_rule)| by_rule)
            };
            if let Some(by_rule) = by_rule {
                settled.insert(list[i].id, by_rule);
            }
            if list[i].polyline.closed && !given {
                list[i].role = nested;
            }
        }
    }
    Ok(())
}

/// For each of `members` (indices into `contours`) that is a loop, or the loops among them that enclose it:
/// its depth and the index of the one that encloses it directly.
fn nest(contours: &[Contour], members: &[usize]) -> Result<Vec<(usize, Option<usize>)>, ContourId> {
    let loops: Vec<usize> = members
        .iter()
        .copied()
        .filter(|&i| contours[i].polyline.closed)
        .collect();
    let views: Vec<NestView<'_>> = loops.iter().map(|&i| NestView::of(&contours[i])).collect();
    let first = first_of_coincident(&views);
    let place: BTreeMap<usize, usize> = loops.iter().enumerate().map(|(k, &i)| (i, k)).collect();
    let mut around = Enclosing::new(views);
    let mut left = PAIRS_AT_LEAST + PAIRS_PER_CONTOUR * members.len();
    let placed = members.iter().map(|&i| {
        let own = place.get(&i).map(|&k| first[k]);
        let found = around.at_most(NestView::of(&contours[i]), DEEPEST_NEST, &mut left);
        let mut enclosing = found.ok_or(contours[i].id)?;
        // Edges on the same line are one.
        enclosing.retain(|&k| first[k] == k && Some(k) != own);
        let direct = enclosing.iter().copied().min_by(|&a, &b| {
            contours[loops[a]]
                .area_mm2
                .total_cmp(&contours[loops[b]].area_mm2)
        });
        Ok((enclosing.len(), direct.map(|k| loops[k])))
    });
    placed.collect()
}

/// Returns for each loop the first of those that lie on the same line: most are alone.
pub(crate) fn first_of_coincident(loops: &[NestView<'_>]) -> Vec<usize> {
    let apart_mm = 2.0 * JOIN_MM;
    let mut alike = AlikeBounds::within(apart_mm);
    let same = |a: &NestView<'_>, b: &NestView<'_>| {
        a.bounds.min.distance(b.bounds.min) <= apart_mm
            && a.bounds.max.distance(b.bounds.max) <= apart_mm
            && (a.area_mm2 - b.area_mm2).abs() <= JOIN_MM * a.polyline.length()
    };
    let first = loops.iter().enumerate().map(|(i, line)| {
        checkpoint();
        let same = |near: &[usize]| near.iter().copied().find(|&k| same(&loops[k], line));
        let first = alike.near(line.bounds).filter_map(same).min();
        alike.add(i, line.bounds);
        first.unwrap_or(i)
    });
    first.collect()
}

/// A closed line that is left out altogether: it has no number.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct ClosedLine {
    /// Its line.
    pub polyline: Polyline,
    /// Index of the first curve it was chained from.
    pub curve: usize,
    /// Bounds, mm.
    pub bounds: Bounds,
    /// Enclosed area, mm², positive.
    pub area_mm2: f64,
}

impl ClosedLine {
    /// Returns a line as a loop: an open one where its ends lie near each other, so that it was meant as one; `None` where they do not.
    pub(crate) fn of(mut polyline: Polyline, curve: usize) -> Option<Self> {
        if !polyline.closed {
            let (first, last) = (polyline.vertices.first()?.at, polyline.vertices.last()?.at);
            if polyline.segment_count() < 2 || first.distance(last) > NEARLY_CLOSED_SHARE * polyline.length()
            {
                return None;
            }
            polyline.closed = true;
        }
        Some(Self {
            curve,
            bounds: polyline.bounds(),
            area_mm2: polyline.area().abs(),
            polyline,
        })
    }
}

/// A closed line as far as nesting looks at it.
#[derive(Clone, Copy)]
pub(crate) struct NestView<'a> {
    /// `None` of a line that is left out altogether.
    pub id: Option<ContourId>,
    pub polyline: &'a Polyline,
    pub bounds: Bounds,
    pub area_mm2: f64,
    /// The first curve it was chained from.
    pub curve: usize,
}

impl<'a> NestView<'a> {
    pub(crate) fn of(contour: &'a Contour) -> Self {
        Self {
            id: Some(contour.id),
            polyline: &contour.polyline,
            bounds: contour.bounds,
            area_mm2: contour.area_mm2,
            curve: contour.curves[0],
        }
    }

    pub(crate) fn of_left_out(line: &'a ClosedLine) -> Self {
        Self {
            id: None,
            polyline: &line.polyline,
            bounds: line.bounds,
            area_mm2: line.area_mm2,
            curve: line.curve,
        }
    }
}

/// Finds which of some loops enclose a contour.
pub(crate) struct Enclosing<'a> {
    loops: Vec<NestView<'a>>,
    index: BoxIndex,
    tests: Vec<Option<Inside<'a>>>,
    stack: Vec<usize>,
}

impl<'a> Enclosing<'a> {
    pub(crate) fn new(loops: Vec<NestView<'a>>) -> Self {
        Self {
            index: BoxIndex::new(loops.iter().map(|contour| contour.bounds)),
            tests: loops.iter().map(|_| None).collect(),
            loops,
            stack: Vec::new(),
        }
    }

    /// Returns the indices of the loops that enclose `contour`, which may be one of them, in their order.
    pub(crate) fn of(&mut self, contour: NestView<'_>) -> Vec<usize> {
        (self.at_most(contour, usize::MAX, &mut usize::MAX.clone())).unwrap_or_default()
    }

    /// As [`Self::of`]; `None` where there are more than `most`, or more than `pairs` loops have to be looked at, from which those looked at
    /// are taken.
    fn at_most(&mut self, contour: NestView<'_>, most: usize, pairs: &mut usize) -> Option<Vec<usize>> {
        let mut around = Vec::new();
        self.index
            .overlapping(Bounds::of([contour.bounds.center()]), &mut self.stack, |k| {
                *pairs = pairs.saturating_sub(1);
                if *pairs == 0 {
                    return ControlFlow::Break(());
                }
                let other = &self.loops[k];
                let larger = other.area_mm2 > contour.area_mm2
                    || (other.area_mm2 == contour.area_mm2 && other.id < contour.id);
                if other.id != contour.id && larger {
                    around.push(k);
                }
                ControlFlow::Continue(())
            });
        if *pairs == 0 {
            return None;
        }
        around.sort_unstable();
        let mut enclosing = Vec::new();
        for k in around {
            checkpoint();
            let test = self.tests[k].get_or_insert_with(|| Inside::new(self.loops[k]));
            if test.holds(contour.polyline, &mut self.stack) {
                enclosing.push(k);
                if enclosing.len() > most {
                    return None;
                }
            }
        }
        Some(enclosing)
    }
}

/// Tests whether points lie within one loop.
struct Inside<'a> {
    polyline: &'a Polyline,
    bounds: Bounds,
    segments: Option<BoxIndex>,
}

impl<'a> Inside<'a> {
    fn new(contour: NestView<'a>) -> Self {
        let polyline = contour.polyline;
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
