//! Whether a path leaves out a place at the offset from its contour.
//!
//! Every such place lies on an *element*: the parallel of a segment, or the arc round an outside corner. An element is
//! halved until each piece is decided as a whole:
//!
//! * it is within [`PATH_MM`] of the path;
//! * some wall is nearer to all of it than the offset, or leaves it no room;
//! * it lies on the other side of the contour. A piece that no wall touches lies on one side as a whole, so its middle
//!   tells for all of it.
//!
//! The last answer costs a look along a whole ray. A piece whose nearest wall says that it lies on this side is
//! therefore not asked for, as long as halving gets on: a piece is left over where an element passes from the path to a
//! wall that forbids it, and there a few dozen halvings lead down to the shortest pieces. Where an element stays
//! undecided for longer than that ([`PATIENCE`]), the nearest wall has no say any more. This is so along a contour that
//! retraces its own line: both walls are nearest there, and they contradict one another. Which pieces are asked for
//! changes how soon an answer comes, never the answer: both ends of the rule are proofs.

use super::stretch::near_each;
use super::{PathFault, PathFlaw, Verifier, around, near};
use crate::geometry::{Segment, SegmentIndex};
use crate::tolerance::{NUDGE_MM, PATH_MM, SAME_POINT_MM};

/// Two feet on the contour are opposite walls, not neighbours, when the directions to them differ by more
/// than the angle with this cosine (30°).
const OPPOSITE_COS: f64 = 0.866;

/// Walls face each other across the wire when the directions to them differ from opposite ones by no more than the angle with this cosine
/// (0.8°), seen from one of these places along the one, which is longer than [`FACING_MM`].
const FACING_COS: f64 = 0.9999;
const FACING: [f64; 3] = [0.1, 0.5, 0.9];
const FACING_MM: f64 = 0.02;

/// Undecided pieces of one element after which a whole ray is worth its cost: those of two places where an element of
/// 100 m leaves the path, halved down to the shortest piece.
const PATIENCE: usize = 64;

/// Pieces of path near an element beyond which cutting it at all of their ends costs more than halving.
const MOST_PIECES: usize = 16;

impl Verifier<'_> {
    /// Whether the path in the index leaves out a place.
    pub(super) fn complete(&self, path: &SegmentIndex) -> Result<(), PathFlaw> {
        let mut pairing = Pairing { path, last: 0 };
        let open: Vec<Segment> = self
            .raw_elements()
            .filter(|element| !pairing.covers(element, self.distance))
            .map(|element| element.curve)
            .collect();
        let mut pieces = Vec::new();
        near_each(&open, path, PATH_MM, self.distance, |_, element, near| {
            let bounds = element.bounds();
            pieces.clear();
            let near = near.iter().map(|piece| piece.segment);
            pieces.extend(near.filter(|piece| piece.bounds().is_within(PATH_MM, bounds)));
            self.covered(element, &pieces)
        })
    }

    /// The curves on which every point at the distance lies: a parallel of each segment, and behind it an arc round the
    /// corner if that juts out towards the wire; each runs with the contour on its left, and they follow one another as along a path.
    pub(super) fn raw_elements(&self) -> impl Iterator<Item = OffsetElement> + '_ {
        let segments = self.contour.segments();
        let n = segments.len();
        let walk = move |i: usize| {
            if self.outside {
                segments[i]
            } else {
                segments[n - 1 - i].reversed()
            }
        };
        (0..n).flat_map(move |i| {
            let before = walk(if i == 0 { n - 1 } else { i - 1 });
            let (here, next) = (walk(i), walk(if i + 1 == n { 0 } else { i + 1 }));
            let round = Segment::around_corner(here, next, self.distance);
            let curves = here.parallel(self.distance).into_iter().chain(round);
            curves.map(move |curve| OffsetElement {
                curve,
                beside: [before, next],
            })
        })
    }

    fn covered(&self, element: Segment, pieces: &[Segment]) -> Result<(), PathFlaw> {
        if on_path(element, pieces) {
            return Ok(());
        }
        // Mostly the nearest wall forbids the whole of it: along crumbs hundreds are within reach.
        if let Some((nearest, ..)) = self.contour.nearest_within(element.at(0.5), self.distance)
            && element.farthest_from(self.contour.segments()[nearest]) < self.distance - SAME_POINT_MM
        {
            return Ok(());
        }
        let walls = around(self.contour, element, self.distance + PATH_MM);
        if self.decided_by_parts(element, &walls, pieces) {
            return Ok(());
        }
        self.covered_by(element, &walls, pieces, &mut 0)
    }

    /// Whether each part of `element`, cut where the path has vertices and a little before and behind, is on the path or
    /// forbidden by one wall: an element runs past the end of the piece that follows it, mostly into the kerf of the next
    /// wall, and there halving would go down to the shortest pieces.
    fn decided_by_parts(&self, element: Segment, walls: &[Segment], pieces: &[Segment]) -> bool {
        if pieces.is_empty() || pieces.len() > MOST_PIECES {
            return false;
        }
        let beside = PATH_MM / 2.0 / element.length();
        let mut cuts = vec![0.0, 1.0];
        for piece in pieces {
            let at = element.parameter(piece.from);
            cuts.extend([at - beside, at, at + beside].map(|t| t.clamp(0.0, 1.0)));
        }
        cuts.sort_unstable_by(f64::total_cmp);
        cuts.windows(2).filter(|ends| ends[0] < ends[1]).all(|ends| {
            let part = element.part(ends[0], ends[1]);
            on_path(part, pieces) || walls.iter().any(|&wall| self.rules_out(part, wall))
        })
    }

    fn covered_by(
        &self,
        element: Segment,
        walls: &[Segment],
        pieces: &[Segment],
        undecided: &mut usize,
    ) -> Result<(), PathFlaw> {
        if on_path(element, pieces) || walls.iter().any(|&wall| self.rules_out(element, wall)) {
            return Ok(());
        }
        let at = element.at(0.5);
        let worth_a_ray = *undecided > PATIENCE || self.side_by_nearest(at) == Some(!self.outside);
        let elsewhere =
            worth_a_ray && !self.on_side(at) && walls.iter().all(|&wall| element.clearance(wall) > 0.0);
        if elsewhere {
            return Ok(());
        }
        *undecided += 1;
        if element.length() <= PATH_MM / 4.0 {
            let to_path = pieces.iter().map(|piece| piece.distance(at));
            if to_path.fold(f64::INFINITY, f64::min) <= PATH_MM {
                return Ok(());
            }
            let nearer = walls
                .iter()
                .any(|wall| wall.distance(at) < self.distance - SAME_POINT_MM);
            // No wall forbids all of the shortest piece, however little of it is free: along crumbs such pieces make up a path.
            if (!nearer || element.length() <= NUDGE_MM) && self.on_side(at) {
                return Err(PathFlaw {
                    at,
                    fault: PathFault::Missing,
                });
            }
            if element.length() <= NUDGE_MM {
                return Ok(());
            }
        }
        element.halves().into_iter().try_for_each(|half| {
            self.covered_by(
                half,
                &near(walls, half, self.distance + PATH_MM),
                &near(pieces, half, PATH_MM),
                undecided,
            )
        })
    }

    /// Whether `wall` forbids the wire all along `element`, or leaves it no more room than a path may leave out
    /// opposite to the wall that `element` follows.
    fn rules_out(&self, element: Segment, wall: Segment) -> bool {
        if !may_be_within(element, wall, self.distance + self.room_mm) {
            return false;
        }
        let farthest = element.farthest_from(wall);
        let opposite = |t: f64| {
            let at = element.at(t);
            let to_wall = wall.nearest(at) - at;
            element.direction(t).left().dot(to_wall) < OPPOSITE_COS * to_wall.length()
        };
        farthest < self.distance - SAME_POINT_MM
            || (farthest <= self.distance + self.room_mm && [0.0, 0.5, 1.0].into_iter().all(opposite))
    }
}

/// A curve at the offset from a wall or corner.
pub(super) struct OffsetElement {
    pub(super) curve: Segment,
    /// The walls before and behind.
    beside: [Segment; 2],
}

/// Elements paired with the pieces of a path, which mostly follow one another as they do.
struct Pairing<'a> {
    path: &'a SegmentIndex,
    /// The piece on which the element before lies.
    last: usize,
}

impl Pairing<'_> {
    /// Whether all of an element is settled by the piece whose turn it is, by one beside that, or by the one nearest to its middle.
    fn covers(&mut self, element: &OffsetElement, distance: f64) -> bool {
        let n = self.path.segments().len();
        let covers = |&i: &usize| settled(element, self.path.segments()[i], distance);
        let turns = [1, 0, 2].map(|ahead| self.last + ahead);
        let turns = turns.into_iter().map(|i| if i < n { i } else { i - n });
        let found = turns.filter(|&i| i < n).find(covers).or_else(|| {
            let nearest = self.path.nearest_within(element.curve.middle(), PATH_MM);
            nearest.map(|(i, ..)| i).filter(covers)
        });
        self.last = found.unwrap_or(self.last);
        found.is_some()
    }
}

/// Whether an element is within [`PATH_MM`] of a piece of path as far as that goes, and forbidden by the walls beside where it goes on
/// into their kerf.
fn settled(OffsetElement { curve, beside }: &OffsetElement, piece: Segment, distance: f64) -> bool {
    if curve.keeps_within(PATH_MM, piece) {
        return true;
    }
    let margin = PATH_MM / 2.0 / curve.length();
    let starts = (curve.parameter(piece.from) - margin).max(0.0);
    let ends = (curve.parameter(piece.to) + margin).min(1.0);
    let forbidden = |from: f64, to: f64, wall: Segment| {
        from >= to || curve.part(from, to).farthest_from(wall) < distance - SAME_POINT_MM
    };
    starts < ends
        && curve.part(starts, ends).keeps_within(PATH_MM, piece)
        && forbidden(0.0, starts, beside[0])
        && forbidden(ends, 1.0, beside[1])
}

/// Whether walls on opposite sides of the wire are twice the offset apart, to within [`PATH_MM`] a wall.
pub(in crate::toolpath) fn just_fits(contour: &SegmentIndex, offset_mm: f64) -> bool {
    let (distance, outside) = (offset_mm.abs(), offset_mm > 0.0);
    contour.segments().iter().any(|&wall| {
        let walk = if outside { wall } else { wall.reversed() };
        let Some(along) = walk.parallel(distance).filter(|_| wall.length() > FACING_MM) else {
            return false;
        };
        FACING.into_iter().any(|t| {
            let (at, left) = (along.at(t), along.direction(t).left());
            let mut opposite = around(contour, Segment::line(at, at), distance + 2.0 * PATH_MM).into_iter();
            opposite.any(|other| {
                let (to_other, away) = (other.nearest(at) - at, other.distance(at));
                (away - distance).abs() <= 2.0 * PATH_MM && left.dot(to_other) < -FACING_COS * away
            })
        })
    })
}

/// Whether all of `element` is within [`PATH_MM`] of one of `pieces`.
fn on_path(element: Segment, pieces: &[Segment]) -> bool {
    let mut near = pieces
        .iter()
        .filter(|&&piece| may_be_within(element, piece, PATH_MM));
    near.any(|&piece| element.keeps_within(PATH_MM, piece))
}

/// `false` where their middles tell that `element` does not lie within `reach` of `other` as a whole: of many, mostly all but a few.
fn may_be_within(element: Segment, other: Segment, reach: f64) -> bool {
    let (away, farthest) = (other.middle() - element.middle(), reach + other.half_extent());
    away.dot(away) <= farthest * farthest
}
