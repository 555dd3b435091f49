mod between;
mod stretch;
mod advance;

use std::f64::consts::PI;

use self::advance::Advance;
use super::super::Contour;
use super::super::measure::turn_at;
use super::Width;
use super::regions::Neighbors;
use super::walls::{FACING_RAD, Facing, NarrowRun, Walls};
use crate::elementary::cos;
use crate::geometry::{Bounds, NearestStack, Point, Segment, Vector, ball_through};
use crate::tolerance::{EQUAL_BALLS, NEAR_BALL, SAME_POINT_MM, SMOOTH_JOINT_RAD, WIDTH_LISTED_MM};

/// Arcs, the outside of corners and runs of short segments are looked from every so many radians.
const TURN_STEP_RAD: f64 = 20.0 * PI / 180.0;

/// Short segments are looked from only every so often, as a share of the width looked for.
const WALK_STEP: f64 = 0.05;

/// No width larger than this many times [`WIDTH_LISTED_MM`] makes that step longer; wider places are looked for less
/// often, but more often than their own width asks.
const WIDE: f64 = 10.0;
const FAR_STEP: f64 = 0.01;

/// The narrowest of a run of neighbouring places narrower than [`WIDTH_LISTED_MM`], and the bounds of the run.
pub(super) struct WidthPlace {
    pub narrowest: Width,
    pub bounds: Bounds,
}

/// Where a narrow place was last seen.
#[derive(Clone, Copy)]
struct NarrowMark {
    segment: usize,
    walked: f64,
    from: Point,
    to: Point,
}

/// What was seen from a place on a segment.
#[derive(Clone, Copy)]
struct Look {
    /// Share of the segment's length up to the place.
    at: f64,
    /// The wall met first; `None` when none is near enough to matter.
    wall: Option<usize>,
    /// Of the ball that touches both; of the largest that matters when there is none.
    radius: f64,
}

/// A contour on one side, to be looked round.
pub(super) struct WidthWalk<'a> {
    walls: &'a Walls,
    contour: &'a Contour,
    /// +1 when the side is on the left of the line.
    side: f64,
    stack: &'a mut NearestStack,
    /// The nearest place of another contour, found beforehand.
    neighbor: Option<Facing>,
    narrowest: Option<Facing>,
    /// Narrow places seen on the walk; `seen_last` belongs to the last of them.
    places: Vec<NarrowRun>,
    seen_last: Option<NarrowMark>,
    /// The last two walls whose nearest points were asked for, and these, whether they face each other or not.
    closest: Option<Facing>,
    /// Where the last ball touched.
    touched: Option<Point>,
    /// Length walked.
    walked: f64,
    /// What was walked and turned since the last look, and since the last one for places of any width.
    since: Advance,
    since_far: Advance,
    /// How many walls were tried.
    pub(super) tried: usize,
    /// How many may be before no more is looked for than places of some width.
    affordable: usize,
}

impl<'a> WidthWalk<'a> {
    pub(super) fn new(
        walls: &'a Walls,
        contour: &'a Contour,
        inside: bool,
        neighbors: Neighbors,
        affordable: usize,
        stack: &'a mut NearestStack,
    ) -> Self {
        Self {
            walls,
            contour,
            side: if inside { 1.0 } else { -1.0 },
            stack,
            neighbor: neighbors.narrowest,
            narrowest: None,
            places: neighbors.places,
            seen_last: None,
            closest: None,
            touched: None,
            walked: 0.0,
            since: Advance::ENDLESS,
            since_far: Advance::ENDLESS,
            tried: 0,
            affordable,
        }
    }

    /// Looks all round the contour for walls that face it.
    pub(super) fn go_round(&mut self) {
        let count = self.contour.polyline.segment_count();
        let mut before = self.contour.polyline.segment(count - 1);
        let mut last = None;
        for i in 0..count {
            let s = self.contour.polyline.segment(i);
            let first = self.vertex(i, before, s, last);
            last = if s.length() > self.step() {
                Some(self.long(i, s, first))
            } else {
                self.short(i, s);
                None
            };
            before = s;
        }
        self.narrowest = self.narrowest.map(|facing| self.descend(facing));
    }

    /// Returns the narrowest width on this side, and all narrow places.
    pub(super) fn found(mut self) -> (Option<Width>, Vec<WidthPlace>) {
        // What touches or crosses has no nearest place, but may have narrow ones that the walk has seen.
        let narrowest = match (self.narrowest, self.neighbor) {
            (Some(seen), Some(neighbor)) if seen.is_narrower(&neighbor) => Some(seen),
            (seen, neighbor) => neighbor.or(seen),
        };
        let narrowest = narrowest.map(|facing| self.marked(facing));
        let places = std::mem::take(&mut self.places).into_iter().map(|run| {
            let narrowest = self.marked(run.narrowest);
            let bounds = run.bounds.with_point(narrowest.from.midpoint(narrowest.to));
            WidthPlace { narrowest, bounds }
        });
        (narrowest, places.collect())
    }

    /// Looks from a segment that is short against the width looked for, if it is time to.
    fn short(&mut self, i: usize, s: Segment) {
        let steps = (s.sweep().abs() / TURN_STEP_RAD).ceil().max(1.0);
        let (half_length, half_sweep) = (0.5 * s.length() / steps, 0.5 * s.sweep().abs() / steps);
        for k in 0..steps as usize {
            self.go(half_length, half_sweep);
            if self.due() {
                let at = (k as f64 + 0.5) / steps;
                let (p, normal) = self.place(s, at);
                self.look(i, at, p, normal, self.reach_among_short());
            }
            self.go(half_length, half_sweep);
        }
    }

    /// Looks from both ends of a segment, and from all places between where another wall comes into view. Returns
    /// what is seen from its end.
    fn long(&mut self, i: usize, s: Segment, first: Option<Look>) -> Look {
        let own = self.own(i);
        let first = first.map_or_else(|| self.look_from(i, s, 0.0), |view| Look { at: 0.0, ..view });
        let next = self.walls.along(own, 1);
        let turn = self.side * turn_at(&self.contour.polyline, self.walls.owners[next].segment);
        let corner = turn > SMOOTH_JOINT_RAD;
        self.walked += s.length();
        let last = if corner {
            Look {
                at: 1.0,
                wall: Some(next),
                radius: 0.0,
            }
        } else {
            self.look_from(i, s, 1.0)
        };
        // From the inside of an arc whose own circle is the ball at both ends, all balls are one.
        let one_ball = self.walls.circles[own].is_some_and(|circle| {
            let all = (1.0 - EQUAL_BALLS) * circle.radius_mm;
            self.side * s.bulge > 0.0 && first.radius.min(last.radius) >= all
        });
        if !one_ball {
            let steps = (s.sweep().abs() / TURN_STEP_RAD).ceil().max(1.0);
            // A straight wall may have the same one before it at both ends, and something else between.
            let steps = if steps == 1.0 && first.wall == last.wall {
                2.0
            } else {
                steps
            };
            let mut from = first;
            for k in 1..steps as usize {
                let to = self.look_from(i, s, k as f64 / steps);
                self.between(i, s, from, to);
                from = to;
            }
            self.between(i, s, from, last);
        }
        self.since_far = Advance::ENDLESS;
        last
    }

    fn own(&self, i: usize) -> usize {
        self.walls.runs[self.contour.id.index()].0 + i
    }

    fn go(&mut self, length: f64, turn: f64) {
        self.walked += length;
        for way in [&mut self.since, &mut self.since_far] {
            way.length += length;
        }
        self.turn(turn);
    }

    fn turn(&mut self, turn: f64) {
        for way in [&mut self.since, &mut self.since_far] {
            way.turned += turn;
        }
    }

    /// Returns how wide a place is looked for from short segments: any, but only every so often.
    fn reach_among_short(&self) -> f64 {
        let any = self.looked_for();
        let step = FAR_STEP * any.min(2.0 * self.walls.bounds.diagonal());
        if self.since_far.reaches(step) {
            any
        } else {
            any.min(WIDE * WIDTH_LISTED_MM)
        }
    }

    /// Whether enough was walked or turned since the last look.
    fn due(&self) -> bool {
        self.since.reaches(self.step())
    }

    fn step(&self) -> f64 {
        WALK_STEP * self.looked_for().min(WIDE * WIDTH_LISTED_MM)
    }

    /// Returns the width below which a place is of interest.
    fn looked_for(&self) -> f64 {
        self.narrowest
            .map_or(f64::INFINITY, |n| n.width_mm.max(WIDTH_LISTED_MM))
    }

    /// Looks from the start of segment `i`, in all directions between the normals of its two segments. `last` is what
    /// was seen along the normal of the one before. Returns what is seen along the normal of `s`.
    fn vertex(&mut self, i: usize, before: Segment, s: Segment, last: Option<Look>) -> Option<Look> {
        let (in_, out) = (before.direction(1.0), s.direction(0.0));
        // Positive where the corner pokes into the side looked at.
        let poke = -self.side * in_.turn_to(out);
        self.turn(poke.abs());
        if poke < -SMOOTH_JOINT_RAD {
            let wall = self.walls.along(self.own(i), -1);
            return Some(Look {
                at: 0.0,
                wall: Some(wall),
                radius: 0.0,
            });
        }
        if poke <= SMOOTH_JOINT_RAD
            && let Some(view) = last
        {
            // What makes a corner with the segment before may face this one.
            let own = self.walls.along(self.own(i), -1);
            let corner = [1, -1].map(|step| Some(self.walls.along(own, step)));
            if !corner.contains(&view.wall) {
                return last;
            }
        }
        if last.is_none() && !self.due() {
            return None;
        }
        let short = last.is_none() && s.length() <= self.step();
        let farthest = if short {
            self.reach_among_short()
        } else {
            f64::INFINITY
        };
        let steps = (poke / TURN_STEP_RAD).ceil().max(1.0) as usize;
        let mut view = last;
        for k in usize::from(last.is_some())..=steps {
            let turn = poke * k as f64 / steps as f64;
            let normal = in_.left().turned(-self.side * turn) * self.side;
            let wide = farthest.min(self.looked_for());
            view = Some(self.look(i, 0.0, s.from, normal, wide));
        }
        view
    }

    fn look_from(&mut self, i: usize, s: Segment, at: f64) -> Look {
        let (p, normal) = self.place(s, at);
        self.look(i, at, p, normal, self.looked_for())
    }

    /// Looks from `p` on segment `i` along `normal` for a wall that faces it, no more than `wide` away.
    fn look(&mut self, i: usize, at: f64, p: Point, normal: Vector, wide: f64) -> Look {
        self.since = Advance::default();
        if wide >= self.looked_for() {
            self.since_far = Advance::default();
        }
        let wide = if self.tried < self.affordable {
            wide
        } else {
            wide.min(WIDE * WIDTH_LISTED_MM)
        };
        // Half of the width, and a little more so that walls at just this distance are still met.
        let farthest = (0.5 + NEAR_BALL) * wide.min(2.0 * self.walls.bounds.diagonal());
        // No larger than the wall met last allows, but for a little, so that it is met again.
        let known = self.touched.and_then(|q| ball_through(p, normal, q));
        let radius = known.map_or(farthest, |known| farthest.min((1.0 + 2.0 * NEAR_BALL) * known));
        let own = self.own(i);
        let ball = self
            .walls
            .ball(own, p, normal, radius, self.stack, &mut self.tried);
        let Some(ball) = ball else {
            return Look {
                at,
                wall: None,
                radius: farthest,
            };
        };
        self.touched = Some(ball.touch);
        let view = Look {
            at,
            wall: Some(ball.wall),
            radius: ball.radius,
        };
        if !ball.faces {
            return view;
        }
        let mut facing = Facing {
            own,
            opposite: ball.wall,
            width_mm: 2.0 * ball.radius,
            from: p,
            to: ball.touch,
        };
        self.narrow_to_nearest(&mut facing, normal);
        if self.narrowest.is_none_or(|n| facing.is_narrower(&n)) {
            self.narrowest = Some(facing);
        }
        if facing.width_mm <= WIDTH_LISTED_MM {
            self.list(i, facing);
        }
        view
    }

    /// Takes the nearest points of the two walls, if they are nearer, lie across the side looked at and see each
    /// other.
    fn narrow_to_nearest(&mut self, facing: &mut Facing, normal: Vector) -> bool {
        let (own, opposite) = (
            self.walls.segments[facing.own],
            self.walls.segments[facing.opposite],
        );
        let (width_mm, from, to) = match self.closest {
            Some(known) if (known.own, known.opposite) == (facing.own, facing.opposite) => {
                (known.width_mm, known.from, known.to)
            }
            _ => own.closest(opposite),
        };
        let closest = Facing {
            width_mm,
            from,
            to,
            ..*facing
        };
        self.closest = Some(closest);
        if width_mm >= facing.width_mm || (to - from).dot(normal) < cos(FACING_RAD) * width_mm {
            return false;
        }
        let clear = 0.5 * width_mm * (1.0 - NEAR_BALL);
        // Walls that join or touch are nowhere nearest to each other across.
        if width_mm <= SAME_POINT_MM || !self.walls.clear(from, to, clear, self.stack) {
            return false;
        }
        *facing = closest;
        true
    }

    /// Descends to neighbouring segments of both walls as long as the width falls.
    fn descend(&mut self, mut facing: Facing) -> Facing {
        for _ in 0..self.walls.runs[self.contour.id.index()].1 {
            let Some(normal) = (facing.to - facing.from).normalized() else {
                break;
            };
            let before = facing;
            for (a, b) in [
                (1, 0),
                (-1, 0),
                (0, 1),
                (0, -1),
                (1, -1),
                (-1, 1),
                (1, 1),
                (-1, -1),
            ] {
                let mut next = Facing {
                    own: self.walls.along(before.own, a),
                    opposite: self.walls.along(before.opposite, b),
                    ..facing
                };
                if !self.walls.share_corner(next.own, next.opposite, facing.to)
                    && self.narrow_to_nearest(&mut next, normal)
                {
                    facing = next;
                }
            }
            if facing.width_mm >= before.width_mm {
                break;
            }
        }
        facing
    }

    /// Returns the width to report: marked in the middle of the stretch that is as narrow.
    fn marked(&mut self, facing: Facing) -> Width {
        let facing = self.in_the_middle(facing);
        let (own, opposite) = (self.walls.owners[facing.own], self.walls.owners[facing.opposite]);
        Width {
            width_mm: facing.from.distance(facing.to),
            from: facing.from,
            to: facing.to,
            contours: (own.contour, opposite.contour),
            curves: (own.curve, opposite.curve),
        }
    }

    /// Adds a narrow width to the place that it continues, or begins a new place.
    fn list(&mut self, segment: usize, facing: Facing) {
        let middle = facing.from.midpoint(facing.to);
        let now = NarrowMark {
            segment,
            walked: self.walked,
            from: facing.from,
            to: facing.to,
        };
        let step = self.step();
        if let (Some(place), Some(last)) = (self.places.last_mut(), self.seen_last.replace(now)) {
            // On along the same wall, and not on the other side of a fin.
            let next = segment.abs_diff(last.segment) <= 1 || self.walked - last.walked <= 3.0 * step;
            let goes_on = next
                && (last.to - last.from).dot(now.to - now.from) > 0.0
                && last.to.distance(now.to) <= last.from.distance(now.from) + 2.0 * facing.width_mm;
            if goes_on {
                place.bounds = place.bounds.with_point(middle);
                if facing.is_narrower(&place.narrowest) {
                    place.narrowest = facing;
                }
                return;
            }
        }
        self.places.push(NarrowRun {
            narrowest: facing,
            bounds: Bounds::of([middle]),
        });
    }
}
