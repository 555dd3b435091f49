use super::super::{Contour, Role};
use crate::geometry::{Bounds, BoxIndex, NearestStack, Point, Segment, Vector};
use crate::job::Use;
use crate::tolerance::{ROUNDING, SAME_POINT_MM};

/// A wall that enters a ball by less than this share of its radius does not shrink it. The width itself is
/// computed exactly afterwards.
pub(super) const SLACK: f64 = 0.01;

/// How often a ball is shrunk at most.
const SHRINKS: usize = 40;

/// All segments that bound material.
pub(super) struct Walls {
    pub segments: Vec<Segment>,
    pub owners: Vec<Owner>,
    /// Of each contour, by its place in the list: where its segments begin, and how many they are.
    pub runs: Vec<(usize, usize)>,
    pub bounds: Bounds,
    index: BoxIndex,
}

/// Whose a wall is.
#[derive(Clone, Copy)]
pub(super) struct Owner {
    /// Number of the contour.
    pub contour: usize,
    /// The segment within the contour.
    pub segment: usize,
    pub curve: usize,
}

/// A ball that touches a point along its normal, bounded by a wall.
pub(super) struct Ball {
    pub wall: usize,
    /// Where it touches the wall.
    pub touch: Point,
    pub radius: f64,
}

impl Walls {
    pub(super) fn new(list: &[Contour]) -> Self {
        let mut segments = Vec::new();
        let mut owners = Vec::new();
        let mut runs = Vec::with_capacity(list.len());
        let mut bounds = Bounds::EMPTY;
        for contour in list {
            let start = segments.len();
            if contour.role != Role::Open && matches!(contour.purpose, Use::Cut | Use::Existing) {
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
            index: BoxIndex::new(segments.iter().map(|s| s.bounds())),
            segments,
            owners,
            runs,
            bounds,
        }
    }

    /// The largest ball of at most `radius` that touches `p` along `normal` and holds no wall, or `None` when
    /// no wall bounds it.
    pub(super) fn ball(
        &self,
        p: Point,
        normal: Vector,
        radius: f64,
        stack: &mut NearestStack,
    ) -> Option<Ball> {
        let mut radius = radius;
        let mut met = None;
        for _ in 0..SHRINKS {
            let center = p + normal * radius;
            let Some(wall) = self.within(center, radius * (1.0 - SLACK), stack) else {
                break;
            };
            let touch = self.segments[wall].nearest(center);
            let Some(smaller) = through(p, normal, touch).filter(|&r| r < radius && r > SAME_POINT_MM) else {
                break;
            };
            radius = smaller;
            met = Some((wall, touch));
        }
        let (wall, mut touch) = met?;
        let segment = self.segments[wall];
        let center = p + normal * radius;
        if segment
            .center()
            .is_some_and(|c| c.distance(center) <= SLACK * radius)
        {
            // `p` lies on the same circle, which bounds the ball; all of it is equally near.
            touch = farthest(segment, p, center);
            return Some(Ball { wall, touch, radius });
        }
        // Now against that wall alone, exactly.
        for _ in 0..SHRINKS {
            let nearer = segment.nearest(p + normal * radius);
            let Some(smaller) = through(p, normal, nearer).filter(|&r| r < radius * (1.0 - ROUNDING)) else {
                break;
            };
            radius = smaller;
            touch = nearer;
        }
        Some(Ball { wall, touch, radius })
    }

    /// The wall nearest to `p` within `reach`.
    pub(super) fn within(&self, p: Point, reach: f64, stack: &mut NearestStack) -> Option<usize> {
        let nearest = self
            .index
            .nearest(p, reach, stack, |i| self.segments[i].distance(p));
        nearest.map(|(wall, _)| wall)
    }

    /// The wall `steps` segments on from `wall` along its contour.
    pub(super) fn along(&self, wall: usize, steps: isize) -> usize {
        let (start, count) = self.runs[self.owners[wall].contour - 1];
        let place = (wall - start).cast_signed() + steps;
        start + place.rem_euclid(count.cast_signed()).cast_unsigned()
    }
}

/// The point of an arc round `center` that is farthest from `p` on the same circle.
fn farthest(arc: Segment, p: Point, center: Point) -> Point {
    let opposite = center + (center - p);
    if arc.spans(opposite) {
        opposite
    } else if p.distance(arc.from) >= p.distance(arc.to) {
        arc.from
    } else {
        arc.to
    }
}

/// Radius of the ball that touches `p` along `normal` and passes through `q`; `None` when `q` is not ahead.
pub(super) fn through(p: Point, normal: Vector, q: Point) -> Option<f64> {
    let v = q - p;
    let ahead = 2.0 * v.dot(normal);
    (ahead > 0.0).then(|| v.dot(v) / ahead)
}
