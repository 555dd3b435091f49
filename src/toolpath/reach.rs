//! What a path does not reach, place by place, exact for lines and arcs.
//!
//! The *walk* is the contour in the direction of its path, the kept material on the left. Every point of the
//! path has its *foot* on the walk, square to the left at the offset. Along the path the foot moves on without
//! a gap, but at an inside corner of the path it jumps: what it jumps over is not reached. So
//!
//! 1. the corners where the foot jumps divide each loop into *runs*, stretches of the walk that are reached;
//! 2. the runs of all loops, in order along the walk, leave *gaps* between them;
//! 3. a gap and the arc that the wire leaves round the corner of the path at its end, then the next gap, and so
//!    on round, enclose a *place*. In a plain corner that is one gap and one arc; where a neck parts two loops it
//!    is two gaps and two arcs.

use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::{Neck, UnreachedKind};
use crate::elementary::tan;
use crate::geometry::{Bounds, Point, Polyline, Segment, SegmentIndex, Vector, Vertex};
use crate::tolerance::{PATH_MM, SAME_POINT_MM, SHARP_CORNER_RAD};

/// A place between the walk and what the wire leaves.
#[derive(Clone, Debug)]
pub(super) struct UnreachedPlace {
    /// The point of the contour that stays farthest from being cut.
    pub(super) at: Point,
    /// Area left, mm².
    pub(super) area_mm2: f64,
    /// Distance of `at` from what is cut, mm.
    pub(super) deviation_mm: f64,
    /// What kind of place.
    pub(super) kind: UnreachedKind,
    /// The narrow passages between the loops that meet here.
    pub(super) necks: Vec<Neck>,
}

/// A foot this near to a wall is on it.
const SAME_FOOT_MM: f64 = 10.0 * SAME_POINT_MM;

/// Walls that close by less than this are the walls of a slot, not of a corner (10°; our choice, no source).
const PARALLEL_WALLS_RAD: f64 = PI / 18.0;

/// The places that `loops` at `offset_mm` from `walk` leave by more than [`PATH_MM`]. `walk` runs in the
/// direction of the loops. Near-linear in segments.
pub(super) fn places(walk: &Polyline, loops: &[Polyline], offset_mm: f64) -> Vec<UnreachedPlace> {
    let walk = ContourWalk::new(walk);
    let mut runs: Vec<ReachedStretch> = loops
        .iter()
        .enumerate()
        .flat_map(|(number, path)| walk.runs(number, path, offset_mm))
        .collect();
    if runs.is_empty() {
        return Vec::new();
    }
    runs.sort_by(|a, b| a.from.total_cmp(&b.from));
    let n = runs.len();
    let gap_after = |i: usize| {
        let (from, to) = (runs[i].from + runs[i].length, runs[(i + 1) % n].from);
        (
            from,
            if n == 1 {
                walk.length - runs[i].length
            } else {
                walk.forward(from, to)
            },
        )
    };
    // Which gap begins at a corner: the one after the run that ends there.
    let gap_at: BTreeMap<(usize, usize), usize> = runs
        .iter()
        .enumerate()
        .map(|(i, run)| (run.ends_at.id, i))
        .collect();
    let mut done = vec![false; n];
    let mut places = Vec::new();
    for first in 0..n {
        let mut chain = Vec::new();
        let mut gap = first;
        while !done[gap] {
            done[gap] = true;
            let (from, length) = gap_after(gap);
            let corner = runs[(gap + 1) % n].starts_at;
            chain.push(UnreachedStretch {
                wall: walk.part(from, length),
                corner,
            });
            // Each run starts at a corner where another ends.
            gap = gap_at.get(&corner.id).copied().unwrap_or(gap);
        }
        if !chain.is_empty() {
            places.extend(place(&chain, offset_mm));
        }
    }
    places
}

/// An inside corner of the path, where the foot jumps.
#[derive(Clone, Copy, Debug)]
struct PathCorner {
    /// Number of the loop, and of the corner in it.
    id: (usize, usize),
    at: Point,
    /// Foot of the run that arrives.
    leaves: Point,
    /// Foot of the run that goes on.
    arrives: Point,
}

impl PathCorner {
    /// Turn of the path, radians, 0 to 2π.
    fn turn(&self) -> f64 {
        let turn = (self.arrives - self.at).turn_to(self.leaves - self.at);
        if turn < -FRAC_PI_2 {
            turn + TAU
        } else {
            turn.max(0.0)
        }
    }

    /// What the wire leaves at the corner, walked backwards: from the foot where the path goes on to the foot
    /// where it arrived.
    fn left_wall(&self) -> Segment {
        Segment::arc(self.arrives, self.leaves, tan(self.turn() / 4.0))
    }
}

/// A stretch of the walk that is reached without a jump.
struct ReachedStretch {
    /// Along the walk, mm.
    from: f64,
    length: f64,
    starts_at: PathCorner,
    ends_at: PathCorner,
}

/// A stretch of the walk that is not reached, and the corner of the path at its end.
struct UnreachedStretch {
    wall: Vec<Segment>,
    corner: PathCorner,
}

/// The contour in the direction of the path, measured along.
struct ContourWalk {
    index: SegmentIndex,
    /// Length before each segment, mm.
    before: Vec<f64>,
    length: f64,
}

impl ContourWalk {
    fn new(polyline: &Polyline) -> Self {
        let index = SegmentIndex::of([polyline]);
        let mut length = 0.0;
        let before = index
            .segments()
            .iter()
            .map(|s| {
                let here = length;
                length += s.length();
                here
            })
            .collect();
        Self {
            index,
            before,
            length,
        }
    }

    /// Way from `from` to `to` along the walk, mm; a step back within the accuracy of paths is no way at all.
    fn forward(&self, from: f64, to: f64) -> f64 {
        let way = (to - from).rem_euclid(self.length);
        if self.length - way < 10.0 * PATH_MM {
            0.0
        } else {
            way
        }
    }

    /// Where along the walk the foot of `segment` at `t` lies, mm. `last` is the wall of the foot before: mostly this one lies on it too,
    /// or on one of the next two.
    fn foot(&self, segment: Segment, t: f64, offset_mm: f64, last: &mut usize) -> (f64, Point) {
        let direction = segment.direction(t);
        let foot = segment.at(t) + direction.left() * offset_mm;
        let walls = self.index.segments();
        let turns = [0, 1, 2].map(|ahead| *last + ahead);
        let mut turns = turns
            .map(|i| if i < walls.len() { i } else { i - walls.len() })
            .into_iter();
        let on_it = turns.find(|&i| i < walls.len() && Self::is_foot_of(walls[i], foot, direction));
        if let Some(i) = on_it {
            *last = i;
            return (self.along(i, foot), foot);
        }
        // Where the contour touches itself, the wall that runs the same way.
        let strangeness = |i: usize| {
            let wall = self.index.segments()[i];
            let t = wall.parameter(foot);
            let opposite = wall.direction(t).dot(direction) < 0.0;
            wall.distance(foot) + if opposite { PATH_MM } else { 0.0 }
        };
        let nearest = self
            .index
            .near(Bounds::of([foot]).grown(2.0 * PATH_MM))
            .map(|i| (i, strangeness(i)))
            .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
            .map(|(i, _)| i);
        let i = nearest
            .or_else(|| self.index.nearest(foot, offset_mm).map(|(i, _, _)| i))
            .unwrap_or_default();
        *last = i;
        (self.along(i, foot), foot)
    }

    /// Where along the walk the place of wall `i` nearest to `foot` lies, mm.
    fn along(&self, i: usize, foot: Point) -> f64 {
        let wall = self.index.segments()[i];
        self.before[i] + wall.parameter(foot) * wall.length()
    }

    /// Whether a foot lies on a wall that runs the same way: no other can be nearer.
    fn is_foot_of(wall: Segment, foot: Point, direction: Vector) -> bool {
        wall.distance(foot) <= SAME_FOOT_MM && wall.direction(wall.parameter(foot)).dot(direction) >= 0.0
    }

    fn runs(&self, number: usize, path: &Polyline, offset_mm: f64) -> Vec<ReachedStretch> {
        let n = path.segment_count();
        let mut last = 0;
        let feet: Vec<[(f64, Point); 2]> = path
            .segments()
            .map(|s| [0.0, 1.0].map(|t| self.foot(s, t, offset_mm, &mut last)))
            .collect();
        // Corner i stands before segment i.
        let corners: Vec<(usize, PathCorner)> = (0..n)
            .filter_map(|i| {
                let (leaves, arrives) = (feet[(i + n - 1) % n][1], feet[i][0]);
                let corner = PathCorner {
                    id: (number, i),
                    at: path.vertices[i].at,
                    leaves: leaves.1,
                    arrives: arrives.1,
                };
                (self.forward(leaves.0, arrives.0) > 2.0 * PATH_MM).then_some((i, corner))
            })
            .collect();
        (0..corners.len())
            .map(|k| {
                let ((start, starts_at), (end, ends_at)) = (corners[k], corners[(k + 1) % corners.len()]);
                let from = feet[start][0].0;
                let to = feet[(end + n - 1) % n][1].0;
                ReachedStretch {
                    from,
                    length: self.forward(from, to),
                    starts_at,
                    ends_at,
                }
            })
            .collect()
    }

    /// The stretch of `length` mm that begins `from` mm along the walk.
    fn part(&self, from: f64, length: f64) -> Vec<Segment> {
        let segments = self.index.segments();
        let from = from.rem_euclid(self.length);
        let mut i = self
            .before
            .partition_point(|&before| before <= from)
            .saturating_sub(1);
        let mut skip = from - self.before[i];
        let mut left = length;
        let mut parts = Vec::new();
        while left > 0.0 && parts.len() <= segments.len() {
            let whole = segments[i].length();
            let take = left.min(whole - skip);
            if take > 0.0 {
                parts.push(segments[i].part(skip / whole, (skip + take) / whole));
            }
            left -= take.max(0.0);
            skip = 0.0;
            i = (i + 1) % segments.len();
        }
        parts
    }
}

fn place(gaps: &[UnreachedStretch], offset_mm: f64) -> Option<UnreachedPlace> {
    let corners: Vec<PathCorner> = gaps.iter().map(|gap| gap.corner).collect();
    let (at, distance) = farthest_from_corners(gaps, &corners, offset_mm)?;
    let deviation_mm = distance - offset_mm;
    if deviation_mm <= PATH_MM {
        return None;
    }
    // The walk has the kept material on its left, so what is left over lies on its right: clockwise.
    let edge = gaps
        .iter()
        .flat_map(|gap| gap.wall.iter().copied().chain([gap.corner.left_wall()]));
    let vertices = edge
        .map(|s| Vertex {
            at: s.from,
            bulge: s.bulge,
        })
        .collect();
    let area_mm2 = -Polyline {
        vertices,
        closed: true,
    }
    .area();
    Some(UnreachedPlace {
        at,
        area_mm2,
        deviation_mm,
        kind: kind(gaps),
        necks: necks(gaps, offset_mm),
    })
}

/// The kind of a place told by how its wall turns: between a foot and the bottom the wall of a corner turns to the right
/// by less than a half turn, however it curves; the walls of a slot are parallel, and those of a bay behind a neck
/// turn by more.
fn kind(gaps: &[UnreachedStretch]) -> UnreachedKind {
    let [gap] = gaps else {
        return UnreachedKind::NarrowSlot;
    };
    let wall: Vec<Segment> = gap
        .wall
        .iter()
        .copied()
        .filter(|s| s.length() > PATH_MM)
        .collect();
    let joints: Vec<f64> = wall
        .windows(2)
        .map(|pair| turn_at_joint(pair[0], pair[1]))
        .collect();
    let turns = wall.iter().zip(std::iter::once(&0.0).chain(&joints));
    // The stretch that turns most to the right.
    let (mut right, mut most) = (0.0f64, 0.0f64);
    for turn in turns.flat_map(|(segment, &joint)| [joint, segment.sweep()]) {
        right = (right - turn).max(0.0);
        most = most.max(right);
    }
    let sharp = joints.iter().any(|&turn| turn < -SHARP_CORNER_RAD);
    let round = wall.iter().any(|s| s.sweep() < 0.0);
    if most > PI - PARALLEL_WALLS_RAD {
        UnreachedKind::NarrowSlot
    } else if round && !sharp {
        UnreachedKind::SmallRadius
    } else {
        UnreachedKind::SharpCorner
    }
}

/// Turn of the walk from one segment to the next, radians; where it turns back on itself, to the right, into a cusp.
fn turn_at_joint(before: Segment, after: Segment) -> f64 {
    let turn = before.direction(1.0).turn_to(after.direction(0.0));
    if turn > PI - SHARP_CORNER_RAD {
        turn - TAU
    } else {
        turn
    }
}

/// The point of the gaps that is farthest from the nearest corner of the path. Looked for where it can be: at
/// ends, straight away from a corner, and where two corners are equally far.
fn farthest_from_corners(
    gaps: &[UnreachedStretch],
    corners: &[PathCorner],
    offset_mm: f64,
) -> Option<(Point, f64)> {
    let index = SegmentIndex::new(corners.iter().map(|c| Segment::line(c.at, c.at)).collect());
    let nearest = |p: Point| index.nearest(p, 2.0 * offset_mm);
    let mut best: Option<(Point, f64)> = None;
    for wall in gaps.iter().flat_map(|gap| gap.wall.iter().copied()) {
        let mut candidates = vec![wall.from, wall.at(0.5), wall.to];
        let near: Vec<Point> = candidates
            .iter()
            .filter_map(|&p| nearest(p))
            .map(|(i, _, _)| corners[i].at)
            .collect();
        for (i, &corner) in near.iter().enumerate() {
            if let Some(center) = wall.center()
                && let Some(away) = (center - corner).normalized()
            {
                let p = center + away * wall.radius();
                candidates.extend(wall.spans(p).then_some(p));
            }
            for &other in &near[..i] {
                let middle = corner.midpoint(other);
                let across = (other - corner).left();
                let reach = middle.distance(wall.at(0.5)) + wall.length();
                let Some(along) = across.normalized() else {
                    continue;
                };
                let bisector = Segment::line(middle - along * reach, middle + along * reach);
                candidates.extend(wall.crossings(bisector).into_iter().flatten());
            }
        }
        for p in candidates {
            let Some((_, _, distance)) = nearest(p) else {
                continue;
            };
            if best.is_none_or(|(_, most)| distance > most) {
                best = Some((p, distance));
            }
        }
    }
    best
}

/// The narrowest passage out of each loop that meets the place: between the gaps on both sides of its corner.
fn necks(gaps: &[UnreachedStretch], offset_mm: f64) -> Vec<Neck> {
    let pairs = match gaps.len() {
        0 | 1 => return Vec::new(),
        // Both loops look at the same passage.
        2 => 1,
        n => n,
    };
    (0..pairs)
        .filter_map(|g| {
            let others = SegmentIndex::new(gaps[(g + 1) % gaps.len()].wall.clone());
            let closest = |s: &Segment| {
                let near = others.near(s.bounds().grown(2.0 * offset_mm));
                near.map(|i| s.closest(others.segments()[i]))
                    .min_by(|a, b| a.0.total_cmp(&b.0))
            };
            let walls = gaps[g].wall.iter().filter_map(closest);
            let (width_mm, here, there) = walls.min_by(|a, b| a.0.total_cmp(&b.0))?;
            Some(Neck {
                at: here.midpoint(there),
                width_mm,
                required_clearance_mm: 2.0 * offset_mm,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests;
