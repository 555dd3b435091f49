//! Which segments are facets of one run.

use super::run::FacetedArc;
use super::{FEWEST_FACETS, Polyline, Segment};

/// Facets turn less than this from one to the next: sixteen and more to a full turn.
const MOST_TURN_DEG: f64 = 22.6;

/// A turn that is larger than both its neighbours by this factor, and by [`CORNER_MARGIN_DEG`], is a corner.
const CORNER_RATIO: f64 = 2.5;
const CORNER_MARGIN_DEG: f64 = 1.0;

/// Neighbouring facets differ in length by at most this factor.
const MOST_STRETCH: f64 = 3.0;

/// A first or last facet that is longer than the next by this factor, and bends less than this part of what the next
/// joint does, is a straight line beside the run.
const STRAIGHT_STRETCH: f64 = 1.3;
const STRAIGHT_BEND: f64 = 0.6;

/// Finds the runs, in order; in a loop from the first corner on.
pub(super) fn runs(line: &Polyline) -> Vec<FacetedArc> {
    let n = line.segment_count();
    if n < FEWEST_FACETS {
        return Vec::new();
    }
    let segments: Vec<Segment> = line.segments().collect();
    let joints = Joints::of(&segments, line.closed);
    let parted: Vec<bool> = (0..n).map(|i| joints.part(i)).collect();
    let Some(start) = parted.iter().position(|&parts| parts) else {
        return FacetedArc::over(&segments, 0, n, None, None)
            .into_iter()
            .collect();
    };
    let mut found = Vec::new();
    let mut first = 0;
    while first < n {
        let past = (first + 1..n).find(|i| parted[(start + i) % n]).unwrap_or(n);
        let (from, count) = joints.trimmed((start + first) % n, past - first);
        let neighbour = |reached: bool, i: usize| (line.closed || reached).then(|| segments[i % n]);
        let before = neighbour(from > 0, from + n - 1).filter(|_| count < n);
        let after = neighbour(from + count < n, from + count).filter(|_| count < n);
        found.extend(FacetedArc::over(&segments, from, count, before, after));
        first = past;
    }
    found
}

/// The joints between segments: joint i lies before segment i.
struct Joints<'a> {
    segments: &'a [Segment],
    chords: Vec<f64>,
    turns: Vec<f64>,
    closed: bool,
}

impl<'a> Joints<'a> {
    fn of(segments: &'a [Segment], closed: bool) -> Self {
        let n = segments.len();
        let direction = |i: usize| segments[i % n].to - segments[i % n].from;
        Self {
            segments,
            chords: segments.iter().map(|s| s.chord()).collect(),
            turns: (0..n)
                .map(|i| direction(i + n - 1).turn_to(direction(i)))
                .collect(),
            closed,
        }
    }

    fn before(&self, i: usize) -> usize {
        (i + self.segments.len() - 1) % self.segments.len()
    }

    fn after(&self, i: usize) -> usize {
        (i + 1) % self.segments.len()
    }

    /// Whether the segments on both sides of joint `i` cannot be facets of one run.
    fn part(&self, i: usize) -> bool {
        let (before, after) = (self.before(i), self.after(i));
        let (here, there) = (self.chords[i], self.chords[before]);
        let turn = self.turns[i].abs();
        let beside = self.turns[before].abs().max(self.turns[after].abs());
        (i == 0 && !self.closed)
            || self.segments[i].is_arc()
            || self.segments[before].is_arc()
            || turn > MOST_TURN_DEG.to_radians()
            || turn > CORNER_RATIO * beside + CORNER_MARGIN_DEG.to_radians()
            || here.max(there) > MOST_STRETCH * here.min(there)
    }

    /// The run without straight lines that lead into it and out of it.
    fn trimmed(&self, mut first: usize, mut count: usize) -> (usize, usize) {
        let n = self.segments.len();
        let bend = |joint: usize| {
            let joint = joint % n;
            2.0 * self.turns[joint].abs() / (self.chords[joint] + self.chords[self.before(joint)])
        };
        let straight = |end: usize, next: usize, outer: usize, inner: usize| {
            self.chords[end % n] > STRAIGHT_STRETCH * self.chords[next % n]
                && bend(outer) < STRAIGHT_BEND * bend(inner)
        };
        if count >= FEWEST_FACETS && straight(first, first + 1, first + 1, first + 2) {
            first = (first + 1) % n;
            count -= 1;
        }
        let last = first + count - 1;
        if count >= FEWEST_FACETS && straight(last, last + n - 1, last, last + n - 1) {
            count -= 1;
        }
        (first, count)
    }
}
