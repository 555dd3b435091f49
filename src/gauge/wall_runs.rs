//! A loop as it was drawn: straights and arcs that only a joint parts are one.

use crate::geometry::{Polyline, Segment};
use crate::tolerance::{PATH_MM, SMOOTH_RAD};

/// Segments of a loop that follow one another on one straight or one circle.
pub(super) struct WallRun {
    /// The first of its segments.
    pub(super) first: usize,
    /// How many there are.
    count: usize,
    /// How many the loop has.
    of: usize,
    /// A straight from end to end; of an arc the first segment, or all of it where one segment can hold it.
    pub(super) segment: Segment,
    /// How far it turns in all, radians.
    pub(super) sweep_rad: f64,
}

impl WallRun {
    /// Whether it holds a segment of the loop.
    pub(super) fn holds(&self, segment: usize) -> bool {
        (segment + self.of - self.first) % self.of < self.count
    }
}

/// Parts a loop into straights and arcs.
pub(super) fn wall_runs(polyline: &Polyline) -> Vec<WallRun> {
    let of = polyline.segment_count();
    let goes_on = |i: usize| is_one(polyline.segment(i), polyline.segment((i + 1) % of));
    let begins: Vec<usize> = (0..of).filter(|&i| !goes_on((i + of - 1) % of)).collect();
    // A full circle goes on everywhere.
    let begins = if begins.is_empty() && of > 0 {
        vec![0]
    } else {
        begins
    };
    let ends = begins.iter().skip(1).chain(begins.first());
    let run = |(&first, &next): (&usize, &usize)| {
        let count = if next > first {
            next - first
        } else {
            next + of - first
        };
        let segments: Vec<Segment> = (first..first + count).map(|i| polyline.segment(i % of)).collect();
        WallRun {
            first,
            count,
            of,
            segment: joined(&segments),
            sweep_rad: segments.iter().map(|segment| segment.sweep()).sum(),
        }
    };
    begins.iter().zip(ends).map(run).collect()
}

/// Returns a straight from end to end; of arcs the longest.
fn joined(segments: &[Segment]) -> Segment {
    let (first, last) = (segments[0], segments[segments.len() - 1]);
    if first.is_arc() {
        let longest = segments.iter().max_by(|a, b| a.length().total_cmp(&b.length()));
        return *longest.unwrap_or(&first);
    }
    Segment::line(first.from, last.to)
}

/// Whether two segments lie on one straight or one circle.
fn is_one(a: Segment, b: Segment) -> bool {
    match (a.center(), b.center()) {
        (None, None) => a.direction(1.0).turn_to(b.direction(0.0)).abs() < SMOOTH_RAD,
        (Some(of_a), Some(of_b)) => {
            let is_one_circle = of_a.distance(of_b) < PATH_MM && (a.radius() - b.radius()).abs() < PATH_MM;
            is_one_circle && a.bulge * b.bulge > 0.0
        }
        _ => false,
    }
}
