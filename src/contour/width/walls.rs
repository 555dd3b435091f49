use super::super::{Contour, Role};
use crate::elementary::cos;
use crate::geometry::{ArcCircle, Bounds, BoxIndex, NearestStack, Point, Segment, Vector};
use crate::id::ContourId;
use crate::tolerance::{EQUAL_BALLS, NEAR_BALL, SAME_POINT_MM};

/// Two walls face each other when a ball touches them this nearly straight across, radians.
pub(super) const FACING_RAD: f64 = 30.0 * std::f64::consts::PI / 180.0;

/// All segments that bound material.
pub(super) struct Walls {
    pub segments: Vec<Segment>,
    /// Of each segment that is an arc, its circle.
    pub circles: Vec<Option<ArcCircle>>,
    pub owners: Vec<Owner>,
    /// Of each contour, by its place in the list: where its segments begin, and how many they are.
    pub runs: Vec<(usize, usize)>,
    pub bounds: Bounds,
    index: BoxIndex,
}

/// The contour that a wall belongs to.
#[derive(Clone, Copy)]
pub(super) struct Owner {
    /// The contour itself.
    pub contour: ContourId,
    /// The segment within the contour.
    pub segment: usize,
    pub curve: usize,
}

/// Two walls that face each other, and a point of each.
#[derive(Clone, Copy)]
pub(super) struct Facing {
    pub own: usize,
    pub opposite: usize,
    /// Diameter of the ball that touches both: a little more than the distance of the two points where it does not touch straight across.
    pub width_mm: f64,
    pub from: Point,
    pub to: Point,
}

impl Facing {
    pub(super) fn is_narrower(&self, other: &Self) -> bool {
        let across = |facing: &Self| (facing.width_mm, facing.from.distance(facing.to));
        is_narrower(across(self), across(other))
    }
}

/// Whether the first of two places is narrower, by the diameters of their balls and the distances of the points that they touch. All
/// balls in the bay of an arc are equally large: of these the one that touches straight across is narrower.
fn is_narrower((ball, across): (f64, f64), (other_ball, other_across): (f64, f64)) -> bool {
    let same = |a: f64, b: f64| (a - b).abs() <= EQUAL_BALLS * other_ball;
    if same(ball, other_ball) && !same(across, other_across) {
        across > other_across
    } else {
        ball < other_ball
    }
}

/// The narrowest of a run of neighbouring places narrower than [`crate::tolerance::WIDTH_LISTED_MM`], and the bounds of the run.
pub(super) struct NarrowRun {
    pub narrowest: Facing,
    pub bounds: Bounds,
}

/// A ball that touches a point along its normal, bounded by a wall.
#[derive(Clone, Copy)]
pub(super) struct Ball {
    pub wall: usize,
    /// Where it touches the wall.
    pub touch: Point,
    pub radius: f64,
    /// The wall faces the point.
    pub faces: bool,
}

impl Walls {
    pub(super) fn new(list: &[Contour]) -> Self {
        let mut segments = Vec::new();
        let mut owners = Vec::new();
        let mut runs = Vec::with_capacity(list.len());
        let mut bounds = Bounds::EMPTY;
        for contour in list {
            let start = segments.len();
            if contour.role != Role::Open && contour.purpose.is_edge() {
                bounds = bounds.union(contour.bounds);
                segments.extend(contour.polyline.segments());
                owners.extend((0..segments.len() - start).map(|segment| Owner {
                    contour: contour.id,
                    segment,
                    curve: contour.curve_of(segment),
                }));
            }
            runs.push((start, segments.len() - start));
        }
        Self {
            circles: segments.iter().map(|s| s.circle()).collect(),
            index: BoxIndex::new(segments.iter().map(|s| s.bounds())),
            segments,
            owners,
            runs,
            bounds,
        }
    }

    /// Finds the largest ball of at most `radius` that touches wall `own` in `p` along `normal` and holds no wall, or
    /// `None` when no wall bounds it. Adds to `tried` how many walls were tried.
    pub(super) fn ball(
        &self,
        own: usize,
        p: Point,
        normal: Vector,
        radius: f64,
        stack: &mut NearestStack,
        tried: &mut usize,
    ) -> Option<Ball> {
        let mut limit = radius;
        let (mut first, mut facing): (Option<Ball>, Option<Ball>) = (None, None);
        self.index.into_tangent_ball(p, normal, radius, stack, |wall| {
            *tried += 1;
            let ball = self.segments[wall].tangent_ball_within(self.circles[wall], p, normal, limit);
            let Some((radius, touch)) = ball else {
                return limit;
            };
            let ball = Ball {
                wall,
                touch,
                radius,
                faces: self.faces(own, p, normal, wall, radius, touch),
            };
            if first.is_none_or(|first| radius < first.radius) {
                first = Some(ball);
                limit = limit.min(radius * (1.0 + NEAR_BALL));
            }
            let across = |ball: Ball| (2.0 * ball.radius, p.distance(ball.touch));
            if ball.faces && facing.is_none_or(|facing| is_narrower(across(ball), across(facing))) {
                facing = Some(ball);
            }
            limit
        });
        let first = first?;
        Some(
            facing
                .filter(|facing| facing.radius <= first.radius * (1.0 + NEAR_BALL))
                .unwrap_or(first),
        )
    }

    /// Whether a ball that touches `wall` in `touch` does so across from `p` on wall `own`.
    fn faces(&self, own: usize, p: Point, normal: Vector, wall: usize, radius: f64, touch: Point) -> bool {
        let center = p + normal * radius;
        let across = (p - center).dot(touch - center) / (radius * radius);
        if across > -cos(FACING_RAD) || self.share_corner(own, wall, touch) {
            return false;
        }
        // A vertex belongs to two walls; the mouth of a sharp corner is none the less part of that corner.
        let other = match self.segments[wall] {
            s if s.from.distance(touch) <= SAME_POINT_MM => self.along(wall, -1),
            s if s.to.distance(touch) <= SAME_POINT_MM => self.along(wall, 1),
            _ => return true,
        };
        !self.share_corner(own, other, touch)
    }

    /// Whether two walls are neighbours on one contour and meet in a corner. A ball that touches that corner itself
    /// stands in the bay of an arc that ends there.
    pub(super) fn share_corner(&self, own: usize, opposite: usize, touch: Point) -> bool {
        let (a, b) = (self.owners[own], self.owners[opposite]);
        if own == opposite || a.contour != b.contour {
            return false;
        }
        let (before, after) = if self.along(own, 1) == opposite {
            (own, opposite)
        } else if self.along(opposite, 1) == own {
            (opposite, own)
        } else {
            return false;
        };
        let (before, after) = (self.segments[before], self.segments[after]);
        after.from.distance(touch) > SAME_POINT_MM
            && before.direction(1.0).turn_to(after.direction(0.0)).abs() > FACING_RAD
    }

    /// Whether no wall comes nearer than `reach` to the middle between two points.
    pub(super) fn clear(&self, from: Point, to: Point, reach: f64, stack: &mut NearestStack) -> bool {
        let p = from.midpoint(to);
        let nearest = self
            .index
            .nearest(p, reach, stack, |i| self.segments[i].distance(p));
        nearest.is_none()
    }

    /// Returns the wall `steps` segments on from `wall` along its contour.
    pub(super) fn along(&self, wall: usize, steps: isize) -> usize {
        let (start, count) = self.runs[self.owners[wall].contour.index()];
        let place = (wall - start).cast_signed() + steps;
        start + place.rem_euclid(count.cast_signed()).cast_unsigned()
    }
}
