//! Marks the width of walls that keep one distance in the middle of them.

use super::{Facing, WidthWalk};
use crate::geometry::Point;
use crate::tolerance::{NEAR_BALL, SAME_POINT_MM, SAME_WIDTH_MM};

/// A stretch is followed over at most so many segments each way.
const SEGMENTS: usize = 256;

/// Part of a wall along which another keeps its distance.
#[derive(Clone, Copy)]
struct FacingPiece {
    own: usize,
    opposite: usize,
    /// As shares of the length of `own`, in its direction.
    from: f64,
    to: f64,
    length_mm: f64,
}

impl WidthWalk<'_> {
    /// Moves a width to the middle of the stretch along which the two walls keep it; as it is where they do so nowhere
    /// else, all the way round, or something else stands in the middle.
    pub(super) fn in_the_middle(&mut self, facing: Facing) -> Facing {
        let Some(first) = self.first_piece(facing) else {
            return facing;
        };
        let (Some(mut pieces), Some(ahead)) = (
            self.follow(first, facing.width_mm, -1),
            self.follow(first, facing.width_mm, 1),
        ) else {
            return facing;
        };
        pieces.reverse();
        pieces.push(first);
        pieces.extend(ahead);
        let mut left = 0.5 * pieces.iter().map(|piece| piece.length_mm).sum::<f64>();
        for piece in pieces {
            if left > piece.length_mm {
                left -= piece.length_mm;
                continue;
            }
            let at = piece.from + (piece.to - piece.from) * left / piece.length_mm;
            let from = self.walls.segments[piece.own].at(at);
            let to = self.walls.segments[piece.opposite].nearest(from);
            let clear = 0.5 * facing.width_mm * (1.0 - NEAR_BALL) - SAME_WIDTH_MM;
            if !self.walls.clear(from, to, clear, self.stack) {
                return facing;
            }
            return Facing {
                own: piece.own,
                opposite: piece.opposite,
                from,
                to,
                ..facing
            };
        }
        facing
    }

    /// Finds the stretch that the place lies on, or whose end it lies behind: in the round end of a slot.
    fn first_piece(&self, facing: Facing) -> Option<FacingPiece> {
        const STEPS: [isize; 3] = [0, -1, 1];
        let around = |wall: usize| {
            let walls = STEPS.map(|step| self.walls.along(wall, step));
            // Of two walls each is the one before and the one after the other.
            let distinct = if walls[1] == walls[2] { 2 } else { 3 };
            walls.into_iter().take(distinct)
        };
        around(facing.own)
            .flat_map(|own| around(facing.opposite).map(move |opposite| (own, opposite)))
            .filter_map(|(own, opposite)| self.piece(own, opposite, facing.width_mm))
            .find(|piece| {
                let s = self.walls.segments[piece.own];
                s.part(piece.from, piece.to).distance(facing.from) <= facing.width_mm
            })
    }

    /// Returns the pieces that continue `first` in the direction of its wall (`step` 1) or against it (-1), nearest first; `None`
    /// where they come back to where they began.
    fn follow(&self, first: FacingPiece, width_mm: f64, step: isize) -> Option<Vec<FacingPiece>> {
        let mut pieces: Vec<FacingPiece> = Vec::new();
        let mut last = first;
        while pieces.len() < SEGMENTS {
            let end = self.end(last, step);
            let own = self.walls.along(last.own, step);
            let opposites = [-1, 1].map(|on| self.walls.along(last.opposite, on));
            let pairs = [
                (own, last.opposite),
                (last.own, opposites[0]),
                (last.own, opposites[1]),
                (own, opposites[0]),
                (own, opposites[1]),
            ];
            let goes_on = pairs.into_iter().find_map(|(own, opposite)| {
                let piece = self.piece(own, opposite, width_mm)?;
                (self.end(piece, -step).distance(end) <= SAME_POINT_MM).then_some(piece)
            });
            let Some(next) = goes_on else { break };
            if (next.own, next.opposite) == (first.own, first.opposite) {
                return None;
            }
            pieces.push(next);
            last = next;
        }
        Some(pieces)
    }

    /// Returns the end of a piece that lies on (1) or back (-1) along its wall.
    fn end(&self, piece: FacingPiece, step: isize) -> Point {
        self.walls.segments[piece.own].at(if step > 0 { piece.to } else { piece.from })
    }

    /// Finds the part of `own` from which `opposite` is `width_mm` away all along.
    fn piece(&self, own: usize, opposite: usize, width_mm: f64) -> Option<FacingPiece> {
        if own == opposite {
            return None;
        }
        let (s, o) = (self.walls.segments[own], self.walls.segments[opposite]);
        let ends = [s.nearest(o.from), s.nearest(o.to)];
        let far = |&end: &Point| o.distance(end) > width_mm + 3.0 * SAME_WIDTH_MM;
        // Most walls have no such part: then the rest need not be known.
        if ends[0] == ends[1] || ends.iter().any(far) {
            return None;
        }
        let [a, b] = ends.map(|end| s.share(end));
        let (from, to) = (a.min(b), a.max(b));
        let length_mm = (to - from) * s.length();
        let there_mm = o.distance(s.at(0.5 * (from + to)));
        let found = there_mm <= width_mm + SAME_WIDTH_MM;
        let keeps = |at: f64| (o.distance(s.at(at)) - there_mm).abs() <= SAME_WIDTH_MM;
        // A line and an arc, or two arcs, may be equally near at three places and not between; walls of one bend are not.
        let places = [from, 0.75 * from + 0.25 * to, to];
        (length_mm > SAME_POINT_MM && found && places.into_iter().all(keeps)).then_some(FacingPiece {
            own,
            opposite,
            from,
            to,
            length_mm,
        })
    }
}
