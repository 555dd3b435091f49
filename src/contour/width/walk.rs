use std::f64::consts::PI;

use super::super::measure::turn_at;
use super::super::{Contour, Role};
use super::Width;
use super::walls::{Ball, SLACK, Walls, through};
use crate::geometry::{Bounds, NearestStack, Point, Segment, Vector};
use crate::tolerance::{SAME_POINT_MM, SMOOTH_JOINT_RAD, WIDTH_LISTED_MM};

/// Two walls face each other when a ball touches them this nearly straight across, radians.
const FACING_RAD: f64 = 30.0 * PI / 180.0;

/// Arcs, the outside of corners and runs of short segments are looked from every so many radians.
const TURN_STEP_RAD: f64 = 20.0 * PI / 180.0;

/// Short segments are looked from only every so often, as a share of the width looked for.
const WALK_STEP: f64 = 0.05;

/// Into how many parts a straight wall is divided to be looked from, where its middle does not tell all.
const EIGHTHS: usize = 8;

/// How often at most the last of these parts is halved, towards the end at which two walls may draw near.
const HALVINGS: usize = 20;

/// No width larger than this many times [`WIDTH_LISTED_MM`] makes that step longer.
const WIDE: f64 = 10.0;

/// A run of neighbouring places narrower than [`WIDTH_LISTED_MM`], with its narrowest.
pub(super) struct Place {
    pub narrowest: Width,
    pub bounds: Bounds,
    last: Seen,
}

/// Where a narrow place was last seen.
#[derive(Clone, Copy)]
struct Seen {
    segment: usize,
    walked: f64,
    from: Point,
    to: Point,
}

/// Two walls that face each other.
#[derive(Clone, Copy)]
struct Facing {
    own: usize,
    opposite: usize,
    width_mm: f64,
    from: Point,
    to: Point,
}

/// Once round a contour on one side.
pub(super) struct Walk<'a> {
    walls: &'a Walls,
    contour: &'a Contour,
    /// +1 when the side is on the left of the line.
    side: f64,
    stack: &'a mut NearestStack,
    narrowest: Option<Facing>,
    places: Vec<Place>,
    /// Where the last ball touched.
    touched: Option<Point>,
    /// Length walked, and walked and turned since the last look.
    walked: f64,
    since: f64,
    turned: f64,
}

impl<'a> Walk<'a> {
    pub(super) fn on_wire_side(walls: &'a Walls, contour: &'a Contour, stack: &'a mut NearestStack) -> Self {
        Self::new(
            walls,
            contour,
            if contour.role == Role::Opening { 1.0 } else { -1.0 },
            stack,
        )
    }

    pub(super) fn on_material_side(
        walls: &'a Walls,
        contour: &'a Contour,
        stack: &'a mut NearestStack,
    ) -> Self {
        Self::new(
            walls,
            contour,
            if contour.role == Role::Opening { -1.0 } else { 1.0 },
            stack,
        )
    }

    fn new(walls: &'a Walls, contour: &'a Contour, side: f64, stack: &'a mut NearestStack) -> Self {
        Self {
            walls,
            contour,
            side,
            stack,
            narrowest: None,
            places: Vec::new(),
            touched: None,
            walked: 0.0,
            since: f64::INFINITY,
            turned: 0.0,
        }
    }

    /// The narrowest width on this side, and all narrow places.
    pub(super) fn run(mut self) -> (Option<Width>, Vec<Place>) {
        let count = self.contour.polyline.segment_count();
        let mut before = self.contour.polyline.segment(count - 1);
        for i in 0..count {
            let s = self.contour.polyline.segment(i);
            self.vertex(i, before, s);
            let steps = (s.sweep().abs() / TURN_STEP_RAD).ceil().max(1.0);
            let (half_length, half_sweep) = (0.5 * s.length() / steps, 0.5 * s.sweep().abs() / steps);
            for k in 0..steps as usize {
                let t = (k as f64 + 0.5) / steps;
                self.go(half_length, half_sweep);
                if self.due() {
                    let settled = self.look(i, s.at(t), s.direction(t).left() * self.side);
                    if !settled && !s.is_arc() {
                        self.look_along(i, s);
                    }
                }
                self.go(half_length, half_sweep);
            }
            before = s;
        }
        self.slide();
        let narrowest = self.narrowest.map(|facing| self.descend(facing));
        (narrowest.map(|facing| self.width(facing)), self.places)
    }

    fn go(&mut self, length: f64, turn: f64) {
        self.walked += length;
        self.since += length;
        self.turned += turn;
    }

    /// Whether enough was walked or turned since the last look.
    fn due(&self) -> bool {
        self.since >= self.step() || self.turned >= TURN_STEP_RAD
    }

    fn step(&self) -> f64 {
        WALK_STEP * self.looked_for().min(WIDE * WIDTH_LISTED_MM)
    }

    /// The width below which a place is of interest.
    fn looked_for(&self) -> f64 {
        self.narrowest
            .map_or(f64::INFINITY, |n| n.width_mm.max(WIDTH_LISTED_MM))
    }

    /// Looks from the start of segment `i`, in all directions between the normals of its two segments.
    fn vertex(&mut self, i: usize, before: Segment, s: Segment) {
        let (in_, out) = (before.direction(1.0), s.direction(0.0));
        // Positive where the corner pokes into the side looked at.
        let poke = -self.side * in_.turn_to(out);
        self.turned += poke.abs();
        if poke < -SMOOTH_JOINT_RAD || !self.due() {
            return;
        }
        let steps = (poke / TURN_STEP_RAD).ceil().max(0.0) as usize;
        for k in 0..=steps {
            let turn = if steps == 0 {
                0.5 * poke
            } else {
                poke * k as f64 / steps as f64
            };
            let normal = in_.left().turned(-self.side * turn) * self.side;
            self.look(i, s.from, normal);
        }
    }

    /// Looks from more places of a straight wall: it may face another one in part, or draw near to it at an end.
    fn look_along(&mut self, i: usize, s: Segment) {
        let normal = s.direction(0.5).left() * self.side;
        for k in 1..EIGHTHS {
            if 2 * k != EIGHTHS {
                self.look(i, s.at(k as f64 / EIGHTHS as f64), normal);
            }
        }
        for from_end in [false, true] {
            let mut left = 1.0 / EIGHTHS as f64;
            for _ in 0..HALVINGS {
                left *= 0.5;
                let before = self.narrowest.map(|n| n.width_mm);
                self.look(i, s.at(if from_end { 1.0 - left } else { left }), normal);
                if self.narrowest.map(|n| n.width_mm) == before {
                    break;
                }
            }
        }
    }

    /// Looks from `p` on segment `i` along `normal` for a wall that faces it. Whether there is one, and the two walls
    /// are nowhere nearer than was measured.
    fn look(&mut self, i: usize, p: Point, normal: Vector) -> bool {
        (self.since, self.turned) = (0.0, 0.0);
        // Half of the width, and a little more so that walls at just this distance are still met.
        let mut radius = (0.5 + SLACK) * self.looked_for().min(2.0 * self.walls.bounds.diagonal());
        if let Some(known) = self.touched.and_then(|q| through(p, normal, q)) {
            // No larger than the wall met last allows, but for a little, so that it is met again.
            radius = radius.min((1.0 + 2.0 * SLACK) * known);
        }
        let Some(Ball { wall, touch, radius }) = self.walls.ball(p, normal, radius, self.stack) else {
            return false;
        };
        self.touched = Some(touch);
        let center = p + normal * radius;
        let across = (p - center).dot(touch - center) / (radius * radius);
        let own = self.walls.runs[self.contour.id - 1].0 + i;
        if across > -FACING_RAD.cos() || self.share_corner(own, wall, touch) {
            return false;
        }
        let mut facing = Facing {
            own,
            opposite: wall,
            width_mm: 2.0 * radius,
            from: p,
            to: touch,
        };
        let measured = self.narrow_to_nearest(&mut facing, normal);
        if self.narrowest.is_none_or(|n| facing.width_mm < n.width_mm) {
            self.narrowest = Some(facing);
        }
        if facing.width_mm <= WIDTH_LISTED_MM {
            self.list(i, self.width(facing));
        }
        let nearest_mm = self.walls.segments[own].clearance(self.walls.segments[wall]);
        measured || nearest_mm >= facing.width_mm * (1.0 - SLACK)
    }

    /// Takes the nearest points of the two walls, if they are nearer, lie across the side looked at and see each
    /// other.
    fn narrow_to_nearest(&mut self, facing: &mut Facing, normal: Vector) -> bool {
        let (own, opposite) = (
            self.walls.segments[facing.own],
            self.walls.segments[facing.opposite],
        );
        let (width_mm, from, to) = own.closest(opposite);
        if width_mm >= facing.width_mm || (to - from).dot(normal) < FACING_RAD.cos() * width_mm {
            return false;
        }
        let clear = 0.5 * width_mm * (1.0 - SLACK);
        // Walls that join or touch are nowhere nearest to each other across.
        if width_mm <= SAME_POINT_MM || self.walls.within(from.midpoint(to), clear, self.stack).is_some() {
            return false;
        }
        *facing = Facing {
            width_mm,
            from,
            to,
            ..*facing
        };
        true
    }

    /// Looks from ever nearer places to both sides of the narrowest one, as long as its wall lasts.
    fn slide(&mut self) {
        let Some(start) = self.narrowest else { return };
        let i = self.walls.owners[start.own].segment;
        let s = self.walls.segments[start.own];
        let mut best = s.share(start.from);
        let mut step = 0.5 / EIGHTHS as f64;
        for _ in 0..HALVINGS {
            let before = self.narrowest.map(|n| n.width_mm);
            for t in [best - step, best + step] {
                if t > 0.0 && t < 1.0 {
                    let known = self.narrowest.map(|n| n.width_mm);
                    self.look(i, s.at(t), s.direction(t).left() * self.side);
                    if self.narrowest.map(|n| n.width_mm) != known {
                        best = t;
                    }
                }
            }
            if self.narrowest.map(|n| n.width_mm) == before {
                step *= 0.5;
            }
        }
    }

    /// Goes on to neighbouring segments of both walls as long as the width falls.
    fn descend(&mut self, mut facing: Facing) -> Facing {
        for _ in 0..self.walls.runs[self.contour.id - 1].1 {
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
                if !self.share_corner(next.own, next.opposite, facing.to)
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

    /// Whether two walls are neighbours on one contour and meet in a corner. A ball that touches that corner itself
    /// stands in the bay of an arc that ends there.
    fn share_corner(&self, own: usize, opposite: usize, touch: Point) -> bool {
        let (a, b) = (self.walls.owners[own], self.walls.owners[opposite]);
        if own == opposite || a.contour != b.contour {
            return false;
        }
        let corner = if self.walls.along(own, 1) == opposite {
            b.segment
        } else if self.walls.along(opposite, 1) == own {
            a.segment
        } else {
            return false;
        };
        let polyline = &self.contour.polyline;
        polyline.vertices[corner].at.distance(touch) > SAME_POINT_MM
            && turn_at(polyline, corner).abs() > FACING_RAD
    }

    fn width(&self, facing: Facing) -> Width {
        let (own, opposite) = (self.walls.owners[facing.own], self.walls.owners[facing.opposite]);
        Width {
            width_mm: facing.width_mm,
            from: facing.from,
            to: facing.to,
            contours: (own.contour, opposite.contour),
            curves: (own.curve, opposite.curve),
        }
    }

    /// Adds a narrow width to the place that it continues, or begins a new place.
    fn list(&mut self, segment: usize, width: Width) {
        let middle = width.from.midpoint(width.to);
        let now = Seen {
            segment,
            walked: self.walked,
            from: width.from,
            to: width.to,
        };
        let step = self.step();
        if let Some(place) = self.places.last_mut() {
            let last = place.last;
            // On along the same wall, and not on the other side of a fin.
            let next = segment.abs_diff(last.segment) <= 1 || self.walked - last.walked <= 3.0 * step;
            let goes_on = next
                && (last.to - last.from).dot(now.to - now.from) > 0.0
                && last.to.distance(now.to) <= last.from.distance(now.from) + 2.0 * width.width_mm;
            if goes_on {
                place.last = now;
                place.bounds = place.bounds.with_point(middle);
                if width.width_mm < place.narrowest.width_mm {
                    place.narrowest = width;
                }
                return;
            }
        }
        self.places.push(Place {
            narrowest: width,
            bounds: Bounds::of([middle]),
            last: now,
        });
    }
}
