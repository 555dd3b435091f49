//! Finds where, along a segment, one wall goes out of view and another comes into it.

use super::{Look, WidthWalk};
use crate::geometry::{Point, Segment, Vector};
use crate::tolerance::{EQUAL_BALLS, NEAR_BALL, SMALLER_BALL};

/// How often at most a segment is looked from between two places where different walls were seen.
const LOOKS: usize = 32;

/// The place where the view changes from one wall to another is sought by so many halvings.
const HALVINGS: usize = 24;

impl WidthWalk<'_> {
    /// Looks from all places between two views of different walls where the first wall in view changes.
    pub(super) fn between(&mut self, i: usize, s: Segment, from: Look, to: Look) {
        let mut open = vec![(from, to)];
        let mut looks = 0;
        while let Some((a, b)) = open.pop() {
            if a.wall == b.wall || self.clear_mm(s, a, b) >= self.looked_for() {
                continue;
            }
            let Some((at, known)) = self.change(s, a, b) else {
                continue;
            };
            looks += 1;
            let seen = self.look_from(i, s, at);
            let third =
                seen.radius < known * (1.0 - SMALLER_BALL) && seen.wall != a.wall && seen.wall != b.wall;
            if third && looks < LOOKS {
                open.push((a, seen));
                open.push((seen, b));
            }
        }
    }

    /// Computes a width below which nothing can be seen from between two places: what is narrower would reach into one of their
    /// balls, since the two overlap. A ball from between that touches something beyond both reaches past the point
    /// where their circles cross.
    fn clear_mm(&self, s: Segment, a: Look, b: Look) -> f64 {
        if a.radius.min(b.radius) == 0.0 {
            return 0.0;
        }
        let ((p, normal_a), (q, normal_b)) = (self.place(s, a.at), self.place(s, b.at));
        let (center_a, center_b) = (p + normal_a * a.radius, q + normal_b * b.radius);
        let line = center_b - center_a;
        let square = line.dot(line);
        let along = 0.5 + 0.5 * (a.radius * a.radius - b.radius * b.radius) / square;
        let half_chord = a.radius * a.radius / square - along * along;
        if !(square > 0.0 && half_chord > 0.0) {
            return 0.0;
        }
        let up = line.left() * half_chord.sqrt();
        let up = if up.dot(normal_a + normal_b) < 0.0 {
            -up
        } else {
            up
        };
        s.distance(center_a + line * along + up)
    }

    /// Finds where the view changes from the wall of `a` to that of `b`, were there no third, and the radius of the ball
    /// there; `None` when it does so at `a` or `b` itself.
    fn change(&self, s: Segment, a: Look, b: Look) -> Option<(f64, f64)> {
        let turns = s.center().map(|center| (center, s.sweep()));
        let both = |at: f64| {
            let place = self.place_of(s, turns, at);
            (self.radius_before(place, a), self.radius_before(place, b))
        };
        let same = |(x, y): (f64, f64)| (x - y).abs() <= NEAR_BALL * x.min(y);
        let (mut low, mut high) = (a.at, b.at);
        let (mut at_low, mut at_high) = (both(low), both(high));
        if (a.radius > 0.0 && same(at_low)) || (b.radius > 0.0 && same(at_high)) {
            return None;
        }
        let mut halve = false;
        for _ in 0..HALVINGS {
            // The secant of the difference, or the middle where that does not lead on.
            let (f, g) = (at_low.0 - at_low.1, at_high.0 - at_high.1);
            let share = f / (f - g);
            let share = if halve || !(share > 0.0 && share < 1.0) {
                0.5
            } else {
                share
            };
            let middle = low + share * (high - low);
            let found = both(middle);
            if (found.0 - found.1).abs() <= EQUAL_BALLS * found.0.min(found.1) {
                return Some((middle, found.0.min(found.1)));
            }
            let before = high - low;
            if found.0 <= found.1 {
                (low, at_low) = (middle, found);
            } else {
                (high, at_high) = (middle, found);
            }
            halve = high - low > 0.5 * before;
        }
        let found = both(0.5 * (low + high));
        Some((0.5 * (low + high), found.0.min(found.1)))
    }

    /// Computes the radius of the ball between a place, its normal given, and the wall of `view`, were there no other walls.
    fn radius_before(&self, (p, normal): (Point, Vector), view: Look) -> f64 {
        let Some(wall) = view.wall else { return view.radius };
        let circle = self.walls.circles[wall];
        let ball = self.walls.segments[wall].tangent_ball_within(circle, p, normal, f64::INFINITY);
        ball.map_or(f64::INFINITY, |(radius, _)| radius)
    }

    /// Returns a point of `s` and its normal into the side looked at.
    pub(super) fn place(&self, s: Segment, at: f64) -> (Point, Vector) {
        self.place_of(s, s.center().map(|center| (center, s.sweep())), at)
    }

    /// The same, of an arc whose centre and sweep are given.
    fn place_of(&self, s: Segment, turns: Option<(Point, f64)>, at: f64) -> (Point, Vector) {
        match turns {
            None => (s.at(at), s.direction(0.5).left() * self.side),
            Some((center, sweep)) => {
                let out = (s.from - center).turned(sweep * at);
                (center + out, out * (-self.side * s.bulge.signum() / out.length()))
            }
        }
    }
}
