//! Finds where lines to be cut cross, touch or run along one another.

use std::collections::HashSet;
use std::ops::ControlFlow;

use rayon::prelude::*;

use super::facts::{Branch, CONTACTS_COUNTED, CONTACTS_LISTED, ContactCounts, Overlap};
use crate::cancel::{asking, checkpoint};
use crate::geometry::{Bounds, BoxIndex, Meeting, Point, Polyline, Segment, Vector, meet};
use crate::tolerance::{JOIN_MM, SAME_POINT_MM};

/// How many pairs of segments with overlapping bounds are looked at, for each segment and in all: a field of
/// long slanting lines has a number of pairs that grows with the square, and is no profile to be cut.
const PAIRS_PER_SEGMENT: usize = 5;
const PAIRS_AT_LEAST: usize = 5_000_000;

/// So many segments are searched by one core at a time, and so many such chunks before the next are begun.
const CHUNK: usize = 1024;
const CHUNKS_AT_ONCE: usize = 64;

/// A touch of a line with itself counts only beyond this many tolerances along the line.
const APART_ALONG: f64 = 10.0;

/// How many tolerances the boxes of two segments have in common, one of them grown by the tolerance, that meet only at
/// their joint: a corner, or the end of an upright line.
const JOINT: f64 = 2.25;

/// How many tolerances away from a contact the directions of the two lines are taken.
const LOOK_AHEAD: f64 = 100.0;

/// What was found. The lines are named by their place in the list; contacts within a line name it twice.
#[derive(Default)]
pub(super) struct Contacts {
    pub crossings: Vec<LineContact>,
    pub touches: Vec<LineContact>,
    pub overlaps: Vec<Along>,
    /// How many there are, those that are not kept among them.
    pub counts: ContactCounts,
}

impl Contacts {
    /// Appends contacts found later, up to the number kept.
    fn append(&mut self, later: Self) {
        fn keep<T>(kept: &mut Vec<T>, later: Vec<T>) {
            kept.extend(later.into_iter().take(CONTACTS_LISTED - kept.len()));
        }
        keep(&mut self.crossings, later.crossings);
        keep(&mut self.touches, later.touches);
        keep(&mut self.overlaps, later.overlaps);
        self.counts.add(later.counts);
    }
}

/// How much may be looked at yet.
#[derive(Clone, Copy)]
pub(super) struct Allowance {
    pub pairs: usize,
    /// Of one kind.
    pub contacts: usize,
}

impl Allowance {
    fn share(self, parts: usize) -> Self {
        Self {
            pairs: self.pairs / parts,
            contacts: self.contacts / parts,
        }
    }
}

/// Adds a contact of a kind, or only counts it.
fn keep<T>(kept: &mut Vec<T>, count: &mut usize, contact: T) {
    *count += 1;
    if kept.len() < CONTACTS_LISTED {
        kept.push(contact);
    }
}

/// A place where two lines meet that are not joined there.
pub(super) struct LineContact {
    pub at: Point,
    /// Twice the same one within a line.
    pub lines: (usize, usize),
    pub curves: (usize, usize),
}

/// An overlap, the two lines that run along one another, and from where to where along each, in mm.
pub(super) struct Along {
    pub overlap: Overlap,
    pub lines: (usize, usize),
    pub reach: [(f64, f64); 2],
}

/// A line to be searched, and the curves that it was chained from.
#[derive(Clone, Copy)]
pub(super) struct ContourView<'a> {
    pub polyline: &'a Polyline,
    pub curves: &'a [usize],
    /// Curve of each segment; empty when there is only one curve.
    pub sources: &'a [u32],
    /// It keeps its place in the list, and is not looked at.
    pub passed_over: bool,
}

impl ContourView<'_> {
    /// Returns the curve that segment `i` comes from.
    fn curve_of(&self, i: usize) -> usize {
        self.sources
            .get(i)
            .map_or(self.curves[0], |&curve| curve as usize)
    }
}

/// Finds all contacts of the `lines`. Those at `branches` are known already and left out.
pub(super) fn contacts(lines: &[ContourView<'_>], branches: &[Branch], join_mm: f64) -> Contacts {
    let segments: usize = lines.iter().map(|line| line.polyline.segment_count()).sum();
    let allowed = Allowance {
        pairs: PAIRS_AT_LEAST + PAIRS_PER_SEGMENT * segments,
        contacts: CONTACTS_COUNTED,
    };
    contacts_within(lines, branches, join_mm, allowed)
}

/// The same, cut off where more would have to be looked at than is allowed.
pub(super) fn contacts_within(
    lines: &[ContourView<'_>],
    branches: &[Branch],
    join_mm: f64,
    mut left: Allowance,
) -> Contacts {
    let tolerance = join_mm.clamp(SAME_POINT_MM, JOIN_MM);
    let mut parts = Vec::with_capacity(lines.iter().map(|l| l.polyline.segment_count()).sum());
    let mut lengths = Vec::with_capacity(lines.len());
    for (line, l) in lines.iter().enumerate() {
        let mut along = 0.0;
        if !l.passed_over {
            for (i, segment) in l.polyline.segments().enumerate() {
                parts.push(PlacedSegment {
                    line: line as u32,
                    segment: i as u32,
                    along,
                });
                along += segment.length();
            }
        }
        lengths.push(along);
    }
    let search = ContactSearch::new(lines, lengths, parts, branches, tolerance);
    let mut found = Contacts::default();
    'all: for chunks in search.index.in_order().chunks(CHUNK * CHUNKS_AT_ONCE) {
        // Enough for any but the densest places, and the chunks together look at no more than is left.
        let share = left.share(chunks.len().div_ceil(CHUNK));
        let searched: Vec<(Contacts, usize)> = chunks
            .par_chunks(CHUNK)
            .map(|chunk| search.among(chunk, share))
            .collect();
        for (chunk, (mut more, mut pairs)) in chunks.chunks(CHUNK).zip(searched) {
            if more.counts.cut_off {
                // As if the chunks had been searched one after the other.
                (more, pairs) = search.among(chunk, left);
            }
            left.pairs = left.pairs.saturating_sub(pairs);
            left.contacts = left.contacts.saturating_sub(more.counts.most());
            found.append(more);
            if found.counts.cut_off {
                break 'all;
            }
        }
    }
    // Where a common stretch ends the lines touch, but the overlap already reports that.
    let along: HashSet<(usize, usize)> = found.overlaps.iter().map(|along| along.overlap.curves).collect();
    found.touches.retain(|contact| !along.contains(&contact.curves));
    found.crossings.sort_by(asking(in_order));
    merge_touches(&mut found.touches, LOOK_AHEAD * tolerance);
    found
}

/// Keeps one of several touches of the same two lines that lie close together.
fn merge_touches(touches: &mut Vec<LineContact>, reach: f64) {
    touches.sort_by(asking(in_order));
    touches.dedup_by(|later, kept| later.lines == kept.lines && later.at.distance(kept.at) <= reach);
}

/// Orders contacts by lines, then from left to right.
fn in_order(a: &LineContact, b: &LineContact) -> std::cmp::Ordering {
    (a.lines.cmp(&b.lines))
        .then(a.at.x.total_cmp(&b.at.x))
        .then(a.at.y.total_cmp(&b.at.y))
}

/// A segment of a line, and how far along the line it starts.
struct PlacedSegment {
    line: u32,
    segment: u32,
    along: f64,
}

impl PlacedSegment {
    fn of(&self, lines: &[ContourView<'_>]) -> Segment {
        lines[self.line as usize].polyline.segment(self.segment as usize)
    }

    /// Returns how far along the line a point of this segment is, mm.
    fn place(&self, segment: Segment, at: Point) -> f64 {
        self.along + segment.share(at) * segment.length()
    }

    /// Returns where along the line a stretch of this segment begins and ends, mm.
    fn reach(&self, segment: Segment, from: Point, to: Point) -> (f64, f64) {
        let (from, to) = (self.place(segment, from), self.place(segment, to));
        (from.min(to), from.max(to))
    }
}

struct ContactSearch<'a> {
    lines: &'a [ContourView<'a>],
    lengths: Vec<f64>,
    parts: Vec<PlacedSegment>,
    index: BoxIndex,
    tolerance: f64,
    branches: BoxIndex,
}

impl<'a> ContactSearch<'a> {
    fn new(
        lines: &'a [ContourView<'a>],
        lengths: Vec<f64>,
        parts: Vec<PlacedSegment>,
        branches: &[Branch],
        tolerance: f64,
    ) -> Self {
        Self {
            index: BoxIndex::new(parts.iter().map(|part| part.of(lines).bounds())),
            lines,
            lengths,
            parts,
            tolerance,
            branches: branch_places(branches),
        }
    }

    /// The contacts of some parts with those of higher numbers, and how many pairs were looked at; cut off when more would have to be
    /// than is allowed. What lies around is looked up once for several that lie side by side.
    fn among(&self, parts: &[usize], allowed: Allowance) -> (Contacts, usize) {
        let mut found = Contacts::default();
        let mut pairs = 0;
        let (mut areas, mut around) = (Vec::new(), Vec::new());
        for group in parts.chunks(self.index.group_size()) {
            areas.clear();
            areas
                .extend((group.iter()).map(|&i| self.parts[i].of(self.lines).bounds().grown(self.tolerance)));
            let all = areas.iter().copied().fold(Bounds::EMPTY, Bounds::union);
            around.clear();
            self.index
                .visit_around(all, 0.0, |j, bounds| around.push((j, bounds)));
            for (&i, area) in group.iter().zip(&areas) {
                for &(j, bounds) in &around {
                    if j <= i || !area.overlaps(bounds) {
                        continue;
                    }
                    if pairs == allowed.pairs || found.counts.most() > allowed.contacts {
                        found.counts.cut_off = true;
                        return (found, pairs);
                    }
                    pairs += 1;
                    let (a, b) = (&self.parts[i], &self.parts[j]);
                    if !self.only_joined(a, b, area.common(bounds)) {
                        self.pair(a, b, &mut found);
                    }
                }
            }
        }
        (found, pairs)
    }

    /// Whether two parts follow one another on a line and their boxes have no more in common than the place of
    /// their joint: most do, and need not be looked at closely.
    fn only_joined(&self, a: &PlacedSegment, b: &PlacedSegment, common: Bounds) -> bool {
        if a.line != b.line || common.diagonal() > JOINT * self.tolerance {
            return false;
        }
        let (next, around) = self.follow(a, b);
        next || around
    }

    /// Of two segments of one line, whether the second follows the first, and whether a loop goes on from the second
    /// to the first.
    fn follow(&self, a: &PlacedSegment, b: &PlacedSegment) -> (bool, bool) {
        let polyline = self.lines[a.line as usize].polyline;
        let around = polyline.closed && a.segment == 0 && b.segment as usize + 1 == polyline.segment_count();
        (a.segment + 1 == b.segment, around)
    }

    fn pair(&self, a: &PlacedSegment, b: &PlacedSegment, found: &mut Contacts) {
        checkpoint();
        let (line_a, line_b) = (&self.lines[a.line as usize], &self.lines[b.line as usize]);
        let (i, j) = (a.segment as usize, b.segment as usize);
        let (s, t) = (line_a.polyline.segment(i), line_b.polyline.segment(j));
        let curves = (line_a.curve_of(i), line_b.curve_of(j));
        let points = match meet(s, t, self.tolerance) {
            Meeting::Along(from, to) => {
                let along = Along {
                    overlap: Overlap {
                        from,
                        to,
                        length_mm: (s.share(to) - s.share(from)).abs() * s.length(),
                        curves,
                        repaired: false,
                    },
                    lines: (a.line as usize, b.line as usize),
                    reach: [a.reach(s, from, to), b.reach(t, from, to)],
                };
                keep(&mut found.overlaps, &mut found.counts.overlaps, along);
                return;
            }
            Meeting::Points(points) => points,
        };
        for at in points {
            if a.line == b.line && self.joint(a, b, s, t, at) {
                continue;
            }
            let (Some(ray_a), Some(ray_b)) = (
                rays(line_a.polyline, i, at, self.tolerance),
                rays(line_b.polyline, j, at, self.tolerance),
            ) else {
                // The next segment reports it.
                continue;
            };
            if self.at_branch(at) {
                continue;
            }
            let contact = LineContact {
                at,
                lines: (a.line as usize, b.line as usize),
                curves,
            };
            if crosses(ray_a, ray_b) {
                keep(&mut found.crossings, &mut found.counts.crossings, contact);
            } else {
                keep(&mut found.touches, &mut found.counts.touches, contact);
            }
        }
    }

    /// Whether two segments of one line meet at `at` only because the line goes on from one to the other.
    fn joint(&self, a: &PlacedSegment, b: &PlacedSegment, s: Segment, t: Segment, at: Point) -> bool {
        let polyline = self.lines[a.line as usize].polyline;
        let near = |p: Point| {
            // The two run within the tolerance of each other from their joint to here.
            p.distance(at) <= self.tolerance
                || t.distance(s.at(0.5 * (s.share(p) + s.share(at)))) <= self.tolerance
        };
        let (next, around) = self.follow(a, b);
        if (next && near(s.to)) || (around && near(s.from)) {
            return true;
        }
        let length = self.lengths[a.line as usize];
        let along = (a.place(s, at) - b.place(t, at)).abs();
        let along = if polyline.closed {
            along.min(length - along)
        } else {
            along
        };
        along <= APART_ALONG * self.tolerance
    }

    fn at_branch(&self, at: Point) -> bool {
        let mut found = false;
        self.branches.overlapping(
            Bounds::of([at]).grown(2.0 * self.tolerance),
            &mut Vec::new(),
            |_| {
                found = true;
                ControlFlow::Break(())
            },
        );
        found
    }
}

fn branch_places(branches: &[Branch]) -> BoxIndex {
    BoxIndex::new(branches.iter().map(|branch| Bounds::of([branch.at])))
}

/// Returns where the line goes from `at`, a point on its segment `i`: back and on, a few tolerances away, so that what
/// stays within the tolerance counts as one. An end gives one direction twice. `None` at the end of a
/// segment that another one follows.
fn rays(line: &Polyline, i: usize, at: Point, tolerance: f64) -> Option<(Vector, Vector)> {
    let s = line.segment(i);
    let starts = s.from.distance(at) <= tolerance;
    let ends = s.to.distance(at) <= tolerance && !starts;
    let (first, last) = if line.closed {
        (false, false)
    } else {
        (i == 0, i + 1 == line.segment_count())
    };
    if ends && !last {
        return None;
    }
    let look = LOOK_AHEAD * tolerance;
    let along = if starts { 0.0 } else { s.share(at) * s.length() };
    let back = walked(line, i, along, -look) - at;
    let on = walked(line, i, along, look) - at;
    Some(match (starts && first, ends) {
        (true, _) => (on, on),
        (_, true) => (back, back),
        _ => (back, on),
    })
}

/// Returns the point reached from `along` mm into segment `i` by walking `distance` mm on, or back when negative; an
/// open line's end is not passed, nor is a loop walked round more than once.
fn walked(line: &Polyline, i: usize, along: f64, distance: f64) -> Point {
    let count = line.segment_count();
    let (mut i, mut target) = (i, along + distance);
    for _ in 0..count {
        let length = line.segment(i).length();
        if target < 0.0 && (line.closed || i > 0) {
            i = (i + count - 1) % count;
            target += line.segment(i).length();
        } else if target > length && (line.closed || i + 1 < count) {
            i = (i + 1) % count;
            target -= length;
        } else {
            break;
        }
    }
    let s = line.segment(i);
    s.at((target / s.length()).clamp(0.0, 1.0))
}

/// Whether two lines that leave a common point in these directions pass through each other. Lines that leave
/// in one and the same direction touch.
fn crosses(a: (Vector, Vector), b: (Vector, Vector)) -> bool {
    let from_back = |v: Vector| a.0.turn_to(v).rem_euclid(std::f64::consts::TAU);
    let same = |p: Vector, q: Vector| p.turn_to(q).abs() <= 1.0 / LOOK_AHEAD;
    if [b.0, b.1].iter().any(|&v| same(v, a.0) || same(v, a.1)) || same(a.0, a.1) || same(b.0, b.1) {
        return false;
    }
    let on = from_back(a.1);
    (from_back(b.0) < on) != (from_back(b.1) < on)
}
