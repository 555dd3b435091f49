use std::ops::{ControlFlow, Range};
use std::sync::OnceLock;

use crate::cancel::asked;

use super::{Bounds, BoxIndex, NearestStack, Point, Polyline, Segment};

/// Segments that can be found by place. The first query builds the index, which costs n log n; a query costs log n and what it finds.
pub struct SegmentIndex {
    segments: Vec<Segment>,
    /// Absent when a coordinate is not a number.
    boxes: OnceLock<Option<BoxIndex>>,
    /// As many boxes as do for what lies around something longer than one segment.
    runs: OnceLock<Option<BoxIndex>>,
}

/// Segments that follow one another in the order of their numbers and are found by one box.
const RUN: usize = 8;

impl SegmentIndex {
    /// Makes an index of `segments`, which keep their order as their numbers.
    pub fn new(segments: Vec<Segment>) -> Self {
        Self {
            segments,
            boxes: OnceLock::new(),
            runs: OnceLock::new(),
        }
    }

    fn boxes(&self) -> Option<&BoxIndex> {
        let build = || {
            let bounds: Vec<Bounds> = asked(self.segments.iter()).map(|s| s.bounds()).collect();
            let finite = bounds.iter().all(|b| b.min.is_finite() && b.max.is_finite());
            finite.then(|| BoxIndex::new(bounds.into_iter()))
        };
        self.boxes.get_or_init(build).as_ref()
    }

    fn runs(&self) -> Option<&BoxIndex> {
        let build = || {
            let mut bounds = Vec::with_capacity(self.segments.len().div_ceil(RUN));
            for run in asked(self.segments.chunks(RUN)) {
                let mut all = Bounds::EMPTY;
                for segment in run {
                    let own = segment.bounds();
                    if !(own.min.is_finite() && own.max.is_finite()) {
                        return None;
                    }
                    all = all.union(own);
                }
                bounds.push(all);
            }
            Some(BoxIndex::new(bounds.into_iter()))
        };
        self.runs.get_or_init(build).as_ref()
    }

    /// Makes an index of all segments of `polylines`, numbered through.
    pub fn of<'a>(polylines: impl IntoIterator<Item = &'a Polyline>) -> Self {
        let polylines: Vec<&Polyline> = polylines.into_iter().collect();
        let count = polylines.iter().map(|polyline| polyline.segment_count()).sum();
        let mut segments = Vec::with_capacity(count);
        segments.extend(polylines.into_iter().flat_map(Polyline::segments));
        Self::new(segments)
    }

    /// Returns the segments, in order of their numbers.
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// Numbers of the segments whose bounds share a point with `bounds`.
    pub fn near(&self, bounds: Bounds) -> impl Iterator<Item = usize> + '_ {
        self.boxes()
            .into_iter()
            .flat_map(move |boxes| boxes.within(bounds))
    }

    /// Calls `visit` with each number that [`Self::near`] gives, until it breaks. `nodes` is memory that one question leaves to the next.
    pub fn visit_near(
        &self,
        bounds: Bounds,
        nodes: &mut Vec<usize>,
        visit: impl FnMut(usize) -> ControlFlow<()>,
    ) {
        if let Some(boxes) = self.boxes() {
            boxes.overlapping(bounds, nodes, visit);
        }
    }

    /// Numbers of the segments whose bounds are at most `reach` mm from `bounds`: every segment that near to what they
    /// hold, and few others. Where short segments lie dense at about that distance, far fewer than [`Self::near`] finds.
    pub fn around(&self, bounds: Bounds, reach: f64) -> Vec<usize> {
        let mut found = Vec::new();
        let near = |&i: &usize| self.segments[i].bounds().is_within(reach, bounds);
        self.visit_runs_around(bounds, reach, |run| found.extend(run.filter(near)));
        found
    }

    /// Calls `visit` with runs of numbers among which are all that [`Self::around`] gives, mostly neighbours of these.
    pub fn visit_runs_around(&self, bounds: Bounds, reach: f64, mut visit: impl FnMut(Range<usize>)) {
        if let Some(runs) = self.runs() {
            runs.visit_around(bounds, reach, |i, _| {
                visit(i * RUN..((i + 1) * RUN).min(self.segments.len()));
            });
        }
    }

    /// Returns the segment nearest to `p` among those within `reach` mm: its number, the point of it and the distance. Of several
    /// equally near, the one of the lowest number.
    pub fn nearest_within(&self, p: Point, reach: f64) -> Option<(usize, Point, f64)> {
        self.nearest_on(&mut Trail::default(), p, reach)
    }

    /// As [`Self::nearest_within`], sooner when the question before was about a place near by: what it found is tried first.
    pub fn nearest_on(&self, trail: &mut Trail, p: Point, reach: f64) -> Option<(usize, Point, f64)> {
        let boxes = self.boxes()?;
        let mut found: Option<(usize, Point, f64)> = None;
        let mut try_one = |i: usize| {
            let foot = self.segments[i].nearest(p);
            let distance = p.distance(foot);
            let nearer = match found {
                None => distance <= reach,
                Some((known, _, best)) => distance < best || (distance == best && i < known),
            };
            if nearer {
                found = Some((i, foot, distance));
            }
            found.map_or(reach, |(_, _, best)| best)
        };
        let begin = match trail.last {
            Some(last) if last < self.segments.len() => try_one(last),
            _ => reach,
        };
        boxes.closest_first(p, begin, &mut trail.stack, try_one);
        trail.last = found.map(|(i, _, _)| i).or(trail.last);
        found
    }

    /// Finds the segment nearest to `p`, as [`Self::nearest_within`], however far it is; `None` when there is none.
    /// Looks within `reach` mm first and doubles it until something is found.
    pub fn nearest(&self, p: Point, reach: f64) -> Option<(usize, Point, f64)> {
        self.nearest_along(&mut Trail::default(), p, reach)
    }

    /// As [`Self::nearest`], with what the question before found.
    pub fn nearest_along(&self, trail: &mut Trail, p: Point, reach: f64) -> Option<(usize, Point, f64)> {
        if reach > 0.0
            && let Some(found) = self.nearest_on(trail, p, reach)
        {
            return Some(found);
        }
        let all = self.boxes()?.bounds()?;
        let whole = all.with_point(p).diagonal();
        // Doubling nothing would lead nowhere.
        let mut reach = if reach > 0.0 { 2.0 * reach } else { whole / 1024.0 };
        loop {
            let found = self.nearest_on(trail, p, reach);
            if found.is_some() || reach.is_nan() || whole.is_nan() || reach > whole {
                return found;
            }
            reach *= 2.0;
        }
    }

    /// How often the indexed loops go round `p`, counter-clockwise positive. See [`Polyline::winding`].
    pub fn winding(&self, p: Point) -> i32 {
        let ray = Bounds {
            min: p,
            max: Point::new(f64::INFINITY, p.y),
        };
        self.near(ray).map(|i| self.segments[i].winding(p)).sum()
    }
}

/// What one question for the nearest segment leaves to the next of the same index: where it looked, and memory. It changes
/// how soon an answer comes, never the answer.
#[derive(Debug, Default)]
pub struct Trail {
    last: Option<usize>,
    stack: NearestStack,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_around_is_found_as_by_trying_all() {
        for count in [0usize, 1, 15, 16, 17, 300, 5000] {
            let at = |i: usize| {
                Point::default()
                    + super::super::Vector::unit(i as f64 * 0.1) * (3.0 + (i as f64).sqrt() * 0.1)
            };
            let segments = (0..count).map(|i| Segment::line(at(i), at(i + 1))).collect();
            let index = SegmentIndex::new(segments);
            for reach in [0.0, 0.3, 4.0, 100.0] {
                let from = Segment::line(Point::new(2.0, -1.0), Point::new(2.5, 1.0));
                let near = index.segments().iter().enumerate();
                let near = near.filter(|(_, s)| s.clearance(from) < reach).map(|(i, _)| i);
                let found = index.around(from.bounds(), reach);
                assert!(
                    near.into_iter().all(|i| found.contains(&i)),
                    "{count} segments, {reach} mm"
                );
                let spare = |&i: &usize| index.segments()[i].bounds();
                let overlapping = found
                    .iter()
                    .map(spare)
                    .filter(|b| b.overlaps(from.bounds().grown(reach)));
                assert_eq!(overlapping.count(), found.len());
            }
        }
    }

    /// Sides of squares: from most places several are equally near, and the lowest number counts.
    #[test]
    fn the_nearest_is_found_as_by_trying_all() {
        let side = |i: u32| {
            let from = Point::new(f64::from(i / 2 % 12), f64::from(i / 24));
            let to = if i.is_multiple_of(2) {
                (1.0, 0.0)
            } else {
                (0.0, 1.0)
            };
            Segment::line(from, Point::new(from.x + to.0, from.y + to.1))
        };
        let index = SegmentIndex::new((0..288).map(side).collect());
        let mut trail = Trail::default();
        for k in 0..200 {
            let p = Point::new(
                f64::from(k * 7 % 60) * 0.25 - 1.0,
                f64::from(k * 11 % 64) * 0.25 - 1.5,
            );
            let all = index.segments().iter().map(|s| s.distance(p)).enumerate();
            let nearest = all.min_by(|a, b| a.1.total_cmp(&b.1)).expect("some");
            for reach in [0.0, 0.25, 1.0, 50.0] {
                let within = Some(nearest).filter(|found| found.1 <= reach);
                let told = |found: Option<(usize, Point, f64)>| found.map(|(i, _, distance)| (i, distance));
                assert_eq!(told(index.nearest_within(p, reach)), within);
                assert_eq!(told(index.nearest_on(&mut trail, p, reach)), within);
                assert_eq!(told(index.nearest(p, reach)), Some(nearest));
                assert_eq!(told(index.nearest_along(&mut trail, p, reach)), Some(nearest));
            }
        }
        // What was found in another index is not asked for; without segments, or with one that has no end, nothing is found.
        let one = SegmentIndex::new(vec![side(0)]);
        assert_eq!(
            one.nearest_on(&mut trail, Point::default(), 1.0)
                .map(|found| found.0),
            Some(0)
        );
        let endless = Segment::line(Point::default(), Point::new(f64::INFINITY, 0.0));
        for segments in [vec![], vec![side(0), endless]] {
            let index = SegmentIndex::new(segments);
            assert!(index.nearest(Point::default(), 1.0).is_none());
            assert!(index.around(side(0).bounds(), 1.0).is_empty());
        }
    }
}
