//! Cuts stretches out of runs and loops of segments, and closes runs to loops.

use super::{Point, Polyline, Segment, Vertex};
use crate::tolerance::SAME_POINT_MM;

/// Returns what of a run lies between two places on it, each the number of a segment and the share of that.
pub(crate) fn part_between(run: &[Segment], [first, last]: [(usize, f64); 2]) -> Vec<Segment> {
    let ((a, from), (b, to)) = (first, last);
    let mut part: Vec<Segment> = if a == b {
        vec![run[a].part(from, to)]
    } else {
        let begin = run[a].part(from, 1.0);
        let between = run[a + 1..b].iter().copied();
        std::iter::once(begin)
            .chain(between)
            .chain([run[b].part(0.0, to)])
            .collect()
    };
    part.retain(|segment| segment.length() > SAME_POINT_MM);
    part
}

/// Returns segments the other way.
pub(crate) fn reversed_run(run: &[Segment]) -> Vec<Segment> {
    run.iter().rev().map(|s| s.reversed()).collect()
}

/// Returns segments that follow one another and close, as a loop.
pub(crate) fn loop_of(segments: &[Segment]) -> Polyline {
    let vertex = |s: &Segment| Vertex {
        at: s.from,
        bulge: s.bulge,
    };
    Polyline {
        vertices: segments.iter().map(vertex).collect(),
        closed: true,
    }
}

impl Polyline {
    /// Returns the stretch of a loop from the place nearest to one point on to that nearest to another, in its direction, its ends
    /// on these points.
    pub(crate) fn stretch(&self, from: Point, to: Point) -> Vec<Segment> {
        let ((a, first), (b, last)) = (self.place(from), self.place(to));
        let n = self.segment_count();
        let mut part = if a == b && first <= last {
            vec![self.segment(a).part(first, last)]
        } else {
            let steps = (b + n - a) % n;
            let steps = if steps == 0 { n } else { steps };
            let begin = self.segment(a).part(first, 1.0);
            let between = (1..steps).map(|k| self.segment((a + k) % n));
            std::iter::once(begin)
                .chain(between)
                .chain([self.segment(b).part(0.0, last)])
                .collect()
        };
        part.retain(|segment: &Segment| segment.length() > SAME_POINT_MM);
        close_up(&mut part, from, to);
        part
    }

    /// Returns the stretch of an open run between the places nearest to two points, in that order, its ends on these points.
    pub(crate) fn between(&self, from: Point, to: Point) -> Vec<Segment> {
        let (a, b) = (self.place(from), self.place(to));
        let segments: Vec<Segment> = self.segments().collect();
        let mut part = if a <= b {
            part_between(&segments, [a, b])
        } else {
            reversed_run(&part_between(&segments, [b, a]))
        };
        close_up(&mut part, from, to);
        part
    }

    /// The segment nearest to a point, and the share of it where that is.
    fn place(&self, p: Point) -> (usize, f64) {
        self.nearest(p)
            .map_or((0, 0.0), |(i, foot, _)| (i, self.segment(i).share(foot)))
    }
}

/// Puts the ends of a run on the points that they are nearest to.
fn close_up(run: &mut [Segment], from: Point, to: Point) {
    if let Some(first) = run.first_mut() {
        first.from = from;
    }
    if let Some(last) = run.last_mut() {
        last.to = to;
    }
}
