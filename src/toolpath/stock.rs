//! What a skim meets: the stock between the wall that the pass before left and the wall that it leaves itself.
//!
//! The *wall* of a pass is the curve at its reach (half the wire and the spark gap) from its path, on the side of
//! the kept material; in an inside corner of the path it is an arc round that corner. The stock met at a point of a
//! skim's wall is its distance from the path of the pass before, less the reach of that pass. Geometry alone.

use std::collections::BTreeMap;

use super::Engagement;
use crate::geometry::{Point, Polyline, Segment, SegmentIndex, Trail};
use crate::pass::Pass;
use crate::tolerance::{PATH_MM, SAME_POINT_MM, STOCK_AREA_SHARE};

/// A place that is met with more stock than this part above what is meant is worth keeping as a fact.
const WORTH_KEEPING: f64 = 1.05;

/// A piece of wall shorter than this part of the reach is summed from its ends and its middle, where these agree.
const SHORT_PIECE: f64 = 0.125;

/// More stock than meant, at one corner of the path before.
#[derive(Clone, Copy, Debug)]
pub(super) struct Excess {
    pub(super) at: Point,
    pub(super) met_mm: f64,
    pub(super) meant_mm: f64,
}

/// A piece of the wall that a path leaves.
#[derive(Clone, Copy)]
struct WallPiece {
    segment: Segment,
    /// The segment of the path that leaves it; for an arc round a corner, the one that arrives there.
    of: usize,
    /// Whether it is left while the wire turns in a corner.
    in_corner: bool,
}

/// What the path of a pass before is to a skim.
pub(super) struct Before {
    path: SegmentIndex,
    /// Whether the path before is nowhere nearer to the skim's wall than what is meant, but for what is negligible: see
    /// [`Self::meant_along`].
    pairs: bool,
    /// Inside corners of the path, as lines of no length.
    corners: SegmentIndex,
    half_kerf_mm: f64,
    /// Stock meant to be taken by the skim, mm.
    meant_mm: f64,
}

impl Before {
    /// The pass before `skim`, along `loops`; both paths together deviate from their offsets by no more than `verified_mm`.
    pub(super) fn new(before: &Pass, loops: &[Polyline], skim: &Pass, verified_mm: f64) -> Self {
        let meant_mm = before.stock_mm - skim.stock_mm;
        let corners = loops.iter().flat_map(inside_corners);
        let mut corners: Vec<Segment> = corners.map(|p| Segment::line(p, p)).collect();
        corners.shrink_to_fit();
        Self {
            path: SegmentIndex::of(loops),
            corners: SegmentIndex::new(corners),
            half_kerf_mm: before.half_kerf_mm,
            meant_mm,
            pairs: verified_mm <= STOCK_AREA_SHARE * meant_mm
                && skim.offset_mm >= skim.half_kerf_mm - SAME_POINT_MM,
        }
    }

    /// What the skim meets along each segment of `path`, and where it is more than meant. `None` when the pass
    /// before has no path at all here, or the recipe means to take nothing.
    pub(super) fn met_along(
        &self,
        path: &Polyline,
        half_kerf_mm: f64,
    ) -> Option<(Vec<Engagement>, Vec<Excess>)> {
        if self.meant_mm <= 0.0 || self.path.segments().is_empty() {
            return None;
        }
        let n = path.segment_count();
        let mut tally = Tally::new(n);
        let mut walked = Walked::default();
        let mut open = Vec::new();
        for piece in wall(path, half_kerf_mm) {
            self.meant_along(piece, &mut walked, &mut tally, &mut open);
        }
        for run in self.runs(&open) {
            if run.len() == 1 || !self.met_by_run(run, &mut walked, &mut tally) {
                for piece in run {
                    self.met_by_piece(piece, &mut walked, &mut tally);
                }
            }
        }
        let Tally {
            met_mm2,
            most_mm,
            worst,
        } = tally;
        let engagement = path
            .segments()
            .zip(met_mm2.iter().zip(&most_mm))
            .map(|(s, (&area, &most))| {
                let meant = self.meant_mm * s.length();
                Engagement {
                    factor: if meant > 0.0 { area / meant } else { 1.0 },
                    stock_mm: Some(most),
                }
            })
            .collect();
        Some((engagement, worst.into_values().collect()))
    }

    /// Adds up the part of a piece of wall along which one segment of the path before says that what is meant is met, and puts the rest
    /// into `open`.
    ///
    /// That segment bounds from above what is met. From below it is bounded by the offsets, which are verified: the centres that are at
    /// least as far from the contour as the path before lie within those of the skim by the difference of the offsets, and the wall is
    /// half a kerf away from the skim's; where the wall lies within the contour (the aim is more than the stock), its pieces overlap in
    /// corners, and there this does not hold.
    fn meant_along(
        &self,
        piece: WallPiece,
        walked: &mut Walked,
        tally: &mut Tally,
        open: &mut Vec<WallPiece>,
    ) {
        if !self.pairs {
            open.push(piece);
            return;
        }
        let segment = piece.segment;
        let before = self.path.segments();
        let limit = self.half_kerf_mm + self.meant_mm + self.enough_mm2(1.0);
        let is_meant = |part: Segment, i: usize| part.keeps_within(limit, before[i]);
        // The segments of both paths mostly follow one another.
        let n = before.len();
        let turns = [0, 1, 2].map(|ahead| walked.beside + ahead);
        let mut turns = turns.into_iter().map(|i| if i < n { i } else { i - n });
        if let Some(i) = turns.find(|&i| i < n && is_meant(segment, i)) {
            walked.beside = i;
            tally.add(&piece, self.meant_mm * segment.length(), self.meant_mm);
            return;
        }
        let nearest = self.path.nearest_along(&mut walked.path, segment.middle(), limit);
        let Some((i, ..)) = nearest else {
            open.push(piece);
            return;
        };
        walked.beside = i;
        let [from, to] = [before[i].from, before[i].to].map(|end| segment.parameter(end));
        let (from, to) = (from.min(to), from.max(to));
        if !(from < to && is_meant(segment.part(from, to), i)) {
            open.push(piece);
            return;
        }
        let parts = [(0.0, from), (from, to), (to, 1.0)].into_iter();
        for (from, to) in parts.filter(|(from, to)| from < to) {
            let part = WallPiece {
                segment: segment.part(from, to),
                ..piece
            };
            if is_meant(part.segment, i) {
                tally.add(&part, self.meant_mm * part.segment.length(), self.meant_mm);
            } else {
                open.push(part);
            }
        }
    }

    /// Pieces of wall that follow one another and together are no longer than a short one.
    fn runs<'a>(&self, pieces: &'a [WallPiece]) -> impl Iterator<Item = &'a [WallPiece]> {
        let longest = SHORT_PIECE * self.half_kerf_mm;
        let mut length = 0.0;
        pieces.chunk_by(move |before, piece| {
            let joined = before.segment.to.distance(piece.segment.from) <= SAME_POINT_MM;
            length += before.segment.length();
            let goes_on = joined && length + piece.segment.length() < longest;
            if !goes_on {
                length = 0.0;
            }
            goes_on
        })
    }

    /// What is met along a run of pieces, as along one short piece: from its ends and its middle. `false` where these do not
    /// agree, and each piece has to be asked for.
    fn met_by_run(&self, run: &[WallPiece], walked: &mut Walked, tally: &mut Tally) -> bool {
        let [first, .., last] = run else { return false };
        let length: f64 = run.iter().map(|piece| piece.segment.length()).sum();
        // Round an outside corner the wall of a path at the reach itself is a point.
        if length == 0.0 {
            return false;
        }
        let start = self.met_at_start(first.segment, walked);
        let middle = {
            let mut left = 0.5 * length;
            let at = run.iter().find_map(|piece| {
                let own = piece.segment.length();
                let at = (left <= own).then(|| piece.segment.at(left / own));
                left -= own;
                at
            });
            self.met(at.unwrap_or(last.segment.from), walked)
        };
        let end = self.met(last.segment.to, walked);
        walked.end = Some((last.segment.to, end));
        let most = start.max(middle).max(end);
        let (whole, by_ends) = summed(length, [start, middle, end]);
        if self.is_worth_keeping(most) || (whole - by_ends).abs() > self.enough_mm2(length) {
            return false;
        }
        for piece in run {
            tally.add(piece, whole * piece.segment.length() / length, most);
        }
        true
    }

    fn met_by_piece(&self, piece: &WallPiece, walked: &mut Walked, tally: &mut Tally) {
        let segment = piece.segment;
        let start = self.met_at_start(segment, walked);
        let middle = self.met(segment.at(0.5), walked);
        let end = self.met(segment.to, walked);
        walked.end = Some((segment.to, end));
        let met = [start, middle, end];
        let (at, met_mm) = self.most_met(segment, met, walked);
        if self.is_worth_keeping(met_mm)
            && let Some((corner, _, _)) = self.corners.nearest(at, 2.0 * self.half_kerf_mm)
        {
            let excess = Excess {
                at,
                met_mm,
                meant_mm: self.meant_mm,
            };
            let known = tally.worst.entry(corner).or_insert(excess);
            if met_mm > known.met_mm {
                *known = excess;
            }
        }
        tally.add(piece, self.area_met(segment, met, walked), met_mm);
    }

    fn is_worth_keeping(&self, met_mm: f64) -> bool {
        met_mm > WORTH_KEEPING * self.meant_mm + PATH_MM
    }

    /// What is met at the start of a piece; neighbours share an end.
    fn met_at_start(&self, segment: Segment, walked: &mut Walked) -> f64 {
        match walked.end {
            Some((end, met)) if end.distance(segment.from) <= SAME_POINT_MM => met,
            _ => self.met(segment.from, walked),
        }
    }

    /// Stock met at a point of the skim's wall, mm.
    fn met(&self, p: Point, walked: &mut Walked) -> f64 {
        let first_reach = self.half_kerf_mm + 2.0 * self.meant_mm;
        let found = self.path.nearest_along(&mut walked.path, p, first_reach);
        let (_, _, distance) = found.unwrap_or_default();
        (distance - self.half_kerf_mm).max(0.0)
    }

    /// The point of a piece of wall where most is met: at its ends, its middle, or straight away from a corner of
    /// the path before. `met` is what is met at its start, middle and end.
    fn most_met(&self, wall: Segment, met: [f64; 3], walked: &mut Walked) -> (Point, f64) {
        let middle = wall.at(0.5);
        let known = [wall.from, middle, wall.to];
        let mut most = (wall.from, met[0]);
        for (p, met_mm) in known.into_iter().zip(met) {
            if met_mm >= most.1 {
                most = (p, met_mm);
            }
        }
        if let Some(center) = wall.center() {
            let asked: &[Point] = if self.is_short(wall) { &[middle] } else { &known };
            for &p in asked {
                let corner = self
                    .corners
                    .nearest_on(&mut walked.corners, p, 4.0 * self.half_kerf_mm);
                let away = corner
                    .and_then(|(_, corner, _)| (center - corner).normalized())
                    .map(|out| center + out * wall.radius())
                    .filter(|&p| wall.spans(p));
                if let Some(p) = away {
                    let met_mm = self.met(p, walked);
                    if met_mm >= most.1 {
                        most = (p, met_mm);
                    }
                }
            }
        }
        most
    }

    /// Two sums of the stock along a length that differ by no more are the same.
    fn enough_mm2(&self, length: f64) -> f64 {
        STOCK_AREA_SHARE * self.meant_mm * length
    }

    fn is_short(&self, wall: Segment) -> bool {
        wall.length() < SHORT_PIECE * self.half_kerf_mm
    }

    /// Stock met along a piece of wall, summed, mm² (the area removed, as far as it is thin against the radius), by adaptive
    /// quadrature (Simpson's rule) from what is met at its start, middle and end: a piece is halved until both of its
    /// halves together say the same as the whole. Of a short piece it is enough that Simpson's rule says the same as its
    /// ends alone: the stock is a distance, so along it there is no room for more than that.
    fn area_met(&self, wall: Segment, [start, middle, end]: [f64; 3], walked: &mut Walked) -> f64 {
        let length = wall.length();
        let (whole, by_ends) = summed(length, [start, middle, end]);
        let enough = self.enough_mm2(length);
        if self.is_short(wall) && (whole - by_ends).abs() <= enough {
            return whole;
        }
        let [early, late] = [0.25, 0.75].map(|t| self.met(wall.at(t), walked));
        let halves = length / 12.0 * (start + 4.0 * early + 2.0 * middle + 4.0 * late + end);
        if (whole - halves).abs() <= enough || length < PATH_MM {
            return halves;
        }
        let [first, second] = wall.halves();
        self.area_met(first, [start, early, middle], walked)
            + self.area_met(second, [middle, late, end], walked)
    }
}

/// The sum along a length of what is met at its start, middle and end, by Simpson's rule and by its ends alone.
fn summed(length: f64, [start, middle, end]: [f64; 3]) -> (f64, f64) {
    (
        length / 6.0 * (start + 4.0 * middle + end),
        length / 2.0 * (start + end),
    )
}

/// What is met, added up over the segments of a path.
struct Tally {
    met_mm2: Vec<f64>,
    most_mm: Vec<f64>,
    /// Where more is met than meant, by the corner of the path before.
    worst: BTreeMap<usize, Excess>,
}

impl Tally {
    fn new(segments: usize) -> Self {
        Self {
            met_mm2: vec![0.0; segments],
            most_mm: vec![0.0; segments],
            worst: BTreeMap::new(),
        }
    }

    /// What is met along a piece; in a corner the segments before and behind it share.
    fn add(&mut self, piece: &WallPiece, met_mm2: f64, most_mm: f64) {
        let next = (piece.of + 1) % self.met_mm2.len();
        let both = [piece.of, next];
        let shares = if piece.in_corner { &both[..] } else { &both[..1] };
        for &i in shares {
            self.met_mm2[i] += met_mm2 / shares.len() as f64;
            self.most_mm[i] = self.most_mm[i].max(most_mm);
        }
    }
}

/// What one question along a wall leaves to the next.
#[derive(Default)]
struct Walked {
    /// Number of the segment of the path before that the last piece of wall lay beside.
    beside: usize,
    path: Trail,
    corners: Trail,
    /// The end of the piece before, and what is met there.
    end: Option<(Point, f64)>,
}

/// Engagement of a rough pass: a full slot everywhere, whatever the curvature.
pub(super) fn full_slot(path: &Polyline) -> Vec<Engagement> {
    vec![
        Engagement {
            factor: 1.0,
            stock_mm: None
        };
        path.segment_count()
    ]
}

/// The wall that a wire of this reach leaves along a path, on its left.
fn wall(path: &Polyline, half_kerf_mm: f64) -> impl Iterator<Item = WallPiece> + '_ {
    let n = path.segment_count();
    (0..n).flat_map(move |i| {
        let (here, next) = (path.segment(i), path.segment((i + 1) % n));
        let along = here
            .reversed()
            .parallel(half_kerf_mm)
            .map(|s| (s.reversed(), false));
        let round = Segment::around_corner(next.reversed(), here.reversed(), half_kerf_mm)
            .map(|s| (s.reversed(), true));
        along
            .into_iter()
            .chain(round)
            .map(move |(segment, in_corner)| WallPiece {
                segment,
                of: i,
                in_corner,
            })
    })
}

/// Where a path turns away from the kept material at once.
fn inside_corners(path: &Polyline) -> impl Iterator<Item = Point> + '_ {
    let n = path.segment_count();
    (0..n).filter_map(move |i| {
        let (here, next) = (path.segment(i), path.segment((i + 1) % n));
        let (arriving, leaving) = (here.direction(1.0), next.direction(0.0));
        let side = arriving.cross(leaving);
        (side < 0.0 || side == 0.0 && arriving.turn_to(leaving) < 0.0).then_some(here.to)
    })
}

/// The walls that `loops` leave at `half_kerf_mm`, for tests that look at them.
#[cfg(test)]
pub(super) fn walls(loops: &[Polyline], half_kerf_mm: f64) -> Vec<Segment> {
    loops
        .iter()
        .flat_map(|path| wall(path, half_kerf_mm))
        .map(|piece| piece.segment)
        .collect()
}

#[cfg(test)]
mod tests;
