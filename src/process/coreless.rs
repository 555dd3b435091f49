//! A small slug cleared away instead of dropped: rings from the start hole outwards, the wall last.
//!
//! The rings are inward offsets of the rough path, one step apart. A ring clears all that is within reach of its path,
//! so two rings a step s < 2·reach apart leave nothing between them on straights, but a step of more than
//! reach·(1 + sin θ/2) leaves a sliver in a corner of angle θ. Hence each step is tried and looked at: where what the
//! outer ring leaves is not all cleared by the inner one, a half step is taken.

use crate::geometry::{Point, Polyline, Segment, SegmentIndex};
use crate::tolerance::PATH_MM;
use crate::toolpath::{Offsets, RefusalReason, RefusedOffset};

/// Most rings that are laid: some 45 mm across with the usual wire, ten times what can enter a nozzle.
const MOST_RINGS: usize = 100;

/// A slug cleared away.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Coreless {
    /// The rings, innermost first; the rough path that follows them is not among them.
    pub rings: Vec<Polyline>,
    /// The whole way of the wire: from the start, ring by ring, to the end of the outermost ring.
    pub run: Polyline,
    /// Length of it, mm.
    pub length_mm: f64,
}

/// Why a slug is not cleared away.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum NotCoreless {
    /// A ring falls apart: there would have to be a start hole in each region.
    Splits {
        /// How far inside the rough path.
        deep_mm: f64,
        /// How many regions.
        regions: usize,
    },
    /// Nobody clears that much away, and laying the rings would take too long.
    TooLarge {
        /// Half its smaller extent over the step.
        rings: f64,
        /// How many are laid at most.
        most: usize,
    },
    /// A ring could not be verified.
    Refused(RefusalReason),
    /// No step, however small, lets a ring clear what the one outside it leaves.
    NotCleared,
    /// The start does not see the innermost ring.
    OutOfSight,
}

/// The rings inside the rough path of an opening, a step apart, and the way along them from `start`; where no start is
/// known, from the middle of the innermost ring. `half_kerf_mm` is from the wire's centre to the edge of its kerf. The rough
/// path alone clears all where no ring is needed.
pub fn coreless(
    path: &Polyline,
    half_kerf_mm: f64,
    step_mm: f64,
    start: Option<Point>,
) -> Result<Coreless, NotCoreless> {
    let mut rings = rings(path, half_kerf_mm, step_mm)?;
    rings.reverse();
    let walls = SegmentIndex::of([path]);
    let mut pieces: Vec<Segment> = Vec::new();
    let mut at = start
        .or_else(|| rings.first().map(within_ring))
        .unwrap_or_default();
    for ring in &rings {
        let link = link(at, ring);
        if pieces.is_empty()
            && walls
                .near(link.bounds())
                .any(|i| crosses(link, walls.segments()[i]))
        {
            return Err(NotCoreless::OutOfSight);
        }
        if link.length() > 0.0 {
            pieces.push(link);
        }
        pieces.extend(round_from(ring, link.to));
        at = link.to;
    }
    let run = Polyline::run(&pieces);
    Ok(Coreless {
        length_mm: run.length(),
        run,
        rings,
    })
}

/// Computes the least that the rings of a path are long, mm, without laying them: going in by t its area shrinks by no more than its
/// length × t, and the rings, a step apart, sweep what is left inside the first. `None` of a circle, whose rings are laid at once.
pub(super) fn least_rings_mm(path: &Polyline, step_mm: f64) -> Option<f64> {
    let swept_mm2 = path.area().abs() - path.length() * step_mm;
    path.circle_center()
        .is_none()
        .then(|| (swept_mm2 / step_mm).max(0.0))
}

/// The rings, outermost first.
fn rings(path: &Polyline, half_kerf_mm: f64, step_mm: f64) -> Result<Vec<Polyline>, NotCoreless> {
    let bounds = path.bounds();
    let count = 0.5 * bounds.width().min(bounds.height()) / step_mm;
    if count > MOST_RINGS as f64 {
        return Err(NotCoreless::TooLarge {
            rings: count,
            most: MOST_RINGS,
        });
    }
    if let Some(center) = path.circle_center() {
        return Ok(round_rings(path, center, half_kerf_mm, step_mm));
    }
    let offsets = Offsets::of(path).map_err(|why| refused(&why))?;
    let mut rings: Vec<Polyline> = Vec::new();
    let mut deep_mm = 0.0;
    loop {
        let left = loops_inside(&offsets, deep_mm + half_kerf_mm)?;
        if left.is_empty() {
            return Ok(rings);
        }
        let mut step = step_mm;
        let ring = loop {
            let inner = loops_inside(&offsets, deep_mm + step)?;
            if inner.len() > 1 {
                return Err(NotCoreless::Splits {
                    deep_mm: deep_mm + step,
                    regions: inner.len(),
                });
            }
            match inner.into_iter().next() {
                Some(inner) if cleared(&left, &inner, half_kerf_mm) => break inner,
                // Half of any step below the kerf is below the reach, and clears all.
                _ => step *= 0.5,
            }
            if step < 0.25 * step_mm {
                return Err(NotCoreless::NotCleared);
            }
        };
        deep_mm += step;
        rings.push(ring);
    }
}

/// The rings of a circle, outermost first: circles about the same middle. Each clears what the one outside it leaves, since a step
/// is below the kerf; where a whole step has no room left, half of one is taken.
fn round_rings(path: &Polyline, center: Point, half_kerf_mm: f64, step_mm: f64) -> Vec<Polyline> {
    let mut rings = Vec::new();
    let mut ring_mm = 0.5 * path.bounds().width();
    while ring_mm - half_kerf_mm > PATH_MM {
        ring_mm -= if ring_mm - step_mm > PATH_MM {
            step_mm
        } else {
            0.5 * step_mm
        };
        let ring = Polyline::circle(center, ring_mm);
        rings.push(if path.area() < 0.0 { ring.reversed() } else { ring });
    }
    rings
}

/// The centre of area of a ring where that lies in it, else its first vertex.
fn within_ring(ring: &Polyline) -> Point {
    let middle = ring.centroid();
    let first = ring.vertices.first().map(|v| v.at);
    if ring.winding(middle) == 0 {
        first.unwrap_or(middle)
    } else {
        middle
    }
}

fn loops_inside(path: &Offsets, deep_mm: f64) -> Result<Vec<Polyline>, NotCoreless> {
    path.at(-deep_mm)
        .map(|found| found.loops)
        .map_err(|why| refused(&why))
}

fn refused(why: &RefusedOffset) -> NotCoreless {
    NotCoreless::Refused(why.reason)
}

/// Whether a ring clears all of what is left outside it.
fn cleared(left: &[Polyline], ring: &Polyline, half_kerf_mm: f64) -> bool {
    let index = SegmentIndex::of([ring]);
    let near = |p: Point| {
        let nearest = index.nearest_within(p, half_kerf_mm + PATH_MM);
        nearest.is_some() || index.winding(p) != 0
    };
    left.iter()
        .flat_map(Polyline::segments)
        .all(|s| near(s.from) && near(s.at(0.5)))
}

/// From `at` straight to the nearest point of a ring.
fn link(at: Point, ring: &Polyline) -> Segment {
    let index = SegmentIndex::of([ring]);
    let to = index.nearest(at, ring.bounds().diagonal());
    Segment::line(at, to.map_or(at, |(_, to, _)| to))
}

fn crosses(link: Segment, wall: Segment) -> bool {
    link.clearance(wall) <= PATH_MM
}

/// Once round a ring, from and to the point of it at `from`.
fn round_from(ring: &Polyline, from: Point) -> Vec<Segment> {
    let index = SegmentIndex::of([ring]);
    let Some((first, at, _)) = index.nearest(from, ring.bounds().diagonal()) else {
        return Vec::new();
    };
    let n = ring.segment_count();
    let (segment, share) = (ring.segment(first), ring.segment(first).parameter(at));
    let mut pieces = vec![segment.part(share, 1.0)];
    pieces.extend((1..n).map(|k| ring.segment((first + k) % n)));
    pieces.push(segment.part(0.0, share));
    pieces.retain(|s| s.length() > 0.0);
    pieces
}
