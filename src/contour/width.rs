//! Local width: the narrowest slot that the wire has to enter, and the thinnest wall that it leaves.
//!
//! From a point of a wall the largest ball is sought that touches the wall there and holds no other wall; it
//! is shrunk until it stands between the wall and what lies opposite (the shrinking ball of J. Ma, S. Bae,
//! S. Choi, "3D medial axis point approximation using nearest neighbors and the normal field", The Visual
//! Computer 28 (2012) 7–19). Where it touches on opposite sides, within [`FACING_RAD`] of straight across, the
//! two walls face each other. The width is the exact nearest distance of the two walls if nothing stands between
//! them there, else the diameter of the ball. Two walls that meet in a corner are no slot, however sharp the
//! corner.
//!
//! Points are taken at every vertex that is not an inside corner of the side looked at, and within each
//! segment (lines in the middle, arcs every [`ARC_STEP_RAD`]): the narrowest place between two walls always
//! has an end of one of them, or the crest of an arc, or lies between parallel lines. What is missed: a
//! wall that narrows towards a closed end is measured where a ball still fits between both walls and the end,
//! and two walls that stand at more than 30° to each other count as a corner, not as a slot.
//!
//! A ball never needs to be larger than the narrowest width found so far on this side of the contour, so the
//! search stays local and the cost near-linear.

use std::f64::consts::PI;

use super::facts::Facts;
use super::{Contour, Role};
use crate::geometry::{Bounds, BoxIndex, NearestQueue, Point, Segment, Vector};
use crate::job::Use;
use crate::tolerance::{ROUNDING, SAME_POINT_MM, SMOOTH_JOINT_RAD, WIDTH_LISTED_MM};

/// Two walls face each other when a ball touches them this nearly straight across, radians.
const FACING_RAD: f64 = 30.0 * PI / 180.0;

/// Arcs and the outside of corners are looked from every so many radians.
const ARC_STEP_RAD: f64 = 20.0 * PI / 180.0;

/// A wall that enters a ball by less than this share of its radius does not shrink it. The width itself is
/// computed exactly afterwards.
const SLACK: f64 = 0.01;

/// How often a ball is shrunk at most; each time it at least touches another wall.
const SHRINKS: usize = 40;

/// A local width.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Width {
    /// Distance between the two walls, mm.
    pub width_mm: f64,
    /// Where it is measured on the wall of this contour.
    pub from: Point,
    /// The point opposite.
    pub to: Point,
    /// Numbers of the contours of the two walls.
    pub contours: (usize, usize),
    /// Curves of the two walls.
    pub curves: (usize, usize),
}

/// Fills in the narrowest slot and the thinnest wall of every closed contour to be cut, and lists all narrow
/// places. Walls of what exists already count as walls.
pub(super) fn measure(list: &mut [Contour], facts: &mut Facts) {
    let walls = Walls::new(list);
    let mut queue = NearestQueue::default();
    let mut found = Vec::new();
    for (i, contour) in list.iter().enumerate() {
        if contour.purpose != Use::Cut || contour.role == Role::Open {
            continue;
        }
        for wire_side in [true, false] {
            let mut walk = Walk::new(&walls, contour, wire_side, &mut queue);
            walk.run();
            found.push((i, wire_side, walk.narrowest, walk.places));
        }
    }
    let (mut slots, mut thin) = (Vec::new(), Vec::new());
    for (i, wire_side, narrowest, places) in found {
        if wire_side {
            list[i].narrowest_slot = narrowest;
            slots.extend(places);
        } else {
            list[i].thinnest_wall = narrowest;
            thin.extend(places);
        }
    }
    facts.narrow_slots = once_each(slots);
    facts.thin_walls = once_each(thin);
}

/// All segments that bound material.
struct Walls {
    segments: Vec<Segment>,
    /// Of each segment: place of its contour in the list, number within the contour, curve.
    owners: Vec<Owner>,
    /// Of each contour in the list: where its segments begin.
    starts: Vec<usize>,
    index: BoxIndex,
    bounds: Bounds,
}

#[derive(Clone, Copy)]
struct Owner {
    contour: usize,
    segment: usize,
    curve: usize,
}

impl Walls {
    fn new(list: &[Contour]) -> Self {
        let mut segments = Vec::new();
        let mut owners = Vec::new();
        let mut starts = Vec::with_capacity(list.len());
        let mut bounds = Bounds::EMPTY;
        for contour in list {
            starts.push(segments.len());
            if contour.role == Role::Open || !matches!(contour.purpose, Use::Cut | Use::Existing) {
                continue;
            }
            bounds = bounds.union(contour.bounds);
            for (segment, s) in contour.polyline.segments().enumerate() {
                segments.push(s);
                owners.push(Owner {
                    contour: contour.id,
                    segment,
                    curve: contour.curve_of(segment),
                });
            }
        }
        Self {
            index: BoxIndex::new(segments.iter().map(|s| s.bounds())),
            segments,
            owners,
            starts,
            bounds,
        }
    }
}

/// A run of neighbouring places narrower than [`WIDTH_LISTED_MM`], with its narrowest.
struct Place {
    narrowest: Width,
    bounds: Bounds,
    last: (usize, Point, Point),
}

/// Once round a contour on one side.
struct Walk<'a> {
    walls: &'a Walls,
    contour: &'a Contour,
    /// +1 when the side is on the left of the line.
    side: f64,
    queue: &'a mut NearestQueue,
    narrowest: Option<Width>,
    places: Vec<Place>,
    /// Where the last ball touched.
    touched: Option<Point>,
}

impl<'a> Walk<'a> {
    fn new(walls: &'a Walls, contour: &'a Contour, wire_side: bool, queue: &'a mut NearestQueue) -> Self {
        let wire_is_left = contour.role == Role::Opening;
        Self {
            walls,
            contour,
            side: if wire_is_left == wire_side { 1.0 } else { -1.0 },
            queue,
            narrowest: None,
            places: Vec::new(),
            touched: None,
        }
    }

    fn run(&mut self) {
        let count = self.contour.polyline.segment_count();
        let mut before = self.contour.polyline.segment(count - 1);
        for i in 0..count {
            let s = self.contour.polyline.segment(i);
            self.vertex(i, before, s);
            let steps = (s.sweep().abs() / ARC_STEP_RAD).ceil().max(1.0);
            for k in 0..steps as usize {
                let t = (k as f64 + 0.5) / steps;
                self.look(i, s.at(t), s.direction(t).left() * self.side);
            }
            before = s;
        }
    }

    /// Looks from the start of segment `i`, in all directions between the normals of its two segments.
    fn vertex(&mut self, i: usize, before: Segment, s: Segment) {
        let (in_, out) = (before.direction(1.0), s.direction(0.0));
        // Positive where the corner pokes into the side looked at.
        let poke = -self.side * in_.turn_to(out);
        if poke < -SMOOTH_JOINT_RAD {
            return;
        }
        let steps = (poke / ARC_STEP_RAD).ceil().max(0.0) as usize;
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

    /// Looks from `p` on segment `i` along `normal` for a wall that faces it.
    fn look(&mut self, i: usize, p: Point, normal: Vector) {
        let Some(Ball { wall, touch, radius }) = self.ball(p, normal) else {
            return;
        };
        self.touched = Some(touch);
        let center = p + normal * radius;
        let across = (p - center).dot(touch - center) / (radius * radius);
        if across > -FACING_RAD.cos() {
            return;
        }
        let own = self.walls.starts[self.contour.id - 1] + i;
        if self.share_corner(own, wall) {
            return;
        }
        let (mut width_mm, mut pair) = (2.0 * radius, (p, touch));
        let (distance, here, there) = self.walls.segments[own].closest(self.walls.segments[wall]);
        if distance < width_mm && self.is_clear((here, there), normal) {
            (width_mm, pair) = (distance, (here, there));
        }
        let width = Width {
            width_mm,
            from: pair.0,
            to: pair.1,
            contours: (self.contour.id, self.walls.owners[wall].contour),
            curves: (self.walls.owners[own].curve, self.walls.owners[wall].curve),
        };
        if self.narrowest.is_none_or(|n| width.width_mm < n.width_mm) {
            self.narrowest = Some(width);
        }
        if width.width_mm <= WIDTH_LISTED_MM {
            self.list(i, width);
        }
    }

    /// The largest ball that touches `p` along `normal` and holds no wall, or `None` when nothing bounds it below
    /// what is looked for.
    fn ball(&mut self, p: Point, normal: Vector) -> Option<Ball> {
        let walls = self.walls;
        let looked_for = self
            .narrowest
            .map_or(f64::INFINITY, |n| n.width_mm.max(WIDTH_LISTED_MM));
        // Half of the width, and a little more so that walls at just this distance are still met.
        let mut radius = (0.5 + SLACK) * looked_for.min(2.0 * walls.bounds.diagonal());
        if let Some(known) = self.touched.and_then(|q| through(p, normal, q)) {
            // A little larger, so that this wall is met again.
            radius = radius.min((1.0 + 2.0 * SLACK) * known);
        }
        let mut wall = None;
        for _ in 0..SHRINKS {
            let center = p + normal * radius;
            let within = radius * (1.0 - SLACK);
            let Some((met, _)) = walls
                .index
                .nearest(center, within, self.queue, |i| walls.segments[i].distance(center))
            else {
                break;
            };
            let Some(smaller) = through(p, normal, walls.segments[met].nearest(center))
                .filter(|&r| r < radius && r > SAME_POINT_MM)
            else {
                break;
            };
            radius = smaller;
            wall = Some(met);
        }
        // Now against that wall alone, exactly.
        let wall = wall?;
        let mut touch = walls.segments[wall].nearest(p + normal * radius);
        for _ in 0..SHRINKS {
            let smaller = through(p, normal, touch)?;
            if smaller >= radius * (1.0 - ROUNDING) {
                break;
            }
            radius = smaller;
            touch = walls.segments[wall].nearest(p + normal * radius);
        }
        Some(Ball { wall, touch, radius })
    }

    /// Whether two walls are neighbours on one contour and meet in a corner.
    fn share_corner(&self, own: usize, wall: usize) -> bool {
        if own == wall {
            return false;
        }
        let (a, b) = (self.walls.owners[own], self.walls.owners[wall]);
        if a.contour != b.contour {
            return false;
        }
        let count = self.contour.polyline.segment_count();
        let corner = if (a.segment + 1) % count == b.segment {
            b.segment
        } else if (b.segment + 1) % count == a.segment {
            a.segment
        } else {
            return false;
        };
        super::measure::turn_at(&self.contour.polyline, corner).abs() > FACING_RAD
    }

    /// Whether the nearest points of two walls lie across the side looked at, with nothing in between.
    fn is_clear(&mut self, (p, q): (Point, Point), normal: Vector) -> bool {
        let across = q - p;
        let width = across.length();
        if across.dot(normal) < FACING_RAD.cos() * width || width <= SAME_POINT_MM {
            return false;
        }
        let walls = self.walls;
        let middle = p.midpoint(q);
        walls
            .index
            .nearest(middle, 0.5 * width * (1.0 - SLACK), self.queue, |i| {
                walls.segments[i].distance(middle)
            })
            .is_none()
    }

    /// Adds a narrow width to the place that it continues, or begins a new place.
    fn list(&mut self, i: usize, width: Width) {
        let middle = width.from.midpoint(width.to);
        if let Some(place) = self.places.last_mut() {
            let (segment, from, to) = place.last;
            // On along the same wall, and not on the other side of a fin.
            let goes_on = i - segment <= 1
                && (to - from).dot(width.to - width.from) > 0.0
                && to.distance(width.to) <= from.distance(width.from) + 2.0 * width.width_mm;
            if goes_on {
                place.last = (i, width.from, width.to);
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
            last: (i, width.from, width.to),
        });
    }
}

/// A ball that touches a point along its normal, bounded by a wall.
struct Ball {
    wall: usize,
    /// Where it touches the wall.
    touch: Point,
    radius: f64,
}

/// Radius of the ball that touches `p` along `normal` and passes through `q`; `None` when `q` is not ahead.
fn through(p: Point, normal: Vector, q: Point) -> Option<f64> {
    let v = q - p;
    let ahead = 2.0 * v.dot(normal);
    (ahead > 0.0).then(|| v.dot(v) / ahead)
}

/// Every narrow place is seen from both of its walls: keeps the narrower view of each.
fn once_each(mut places: Vec<Place>) -> Vec<Width> {
    places.sort_by(|a, b| a.narrowest.width_mm.total_cmp(&b.narrowest.width_mm));
    let index = BoxIndex::new(places.iter().map(|place| place.bounds));
    let mut stack = Vec::new();
    let kept = (0..places.len()).filter(|&i| {
        let mut seen = false;
        let area = places[i].bounds.grown(places[i].narrowest.width_mm);
        index.overlapping(area, &mut stack, |j| {
            let (a, b) = (places[i].narrowest.contours, places[j].narrowest.contours);
            if j < i && (a == b || a == (b.1, b.0)) {
                seen = true;
                return std::ops::ControlFlow::Break(());
            }
            std::ops::ControlFlow::Continue(())
        });
        !seen
    });
    kept.map(|i| places[i].narrowest).collect()
}
