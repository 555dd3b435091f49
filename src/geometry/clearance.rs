//! How near two segments come to one another, how far one strays from the other, and where they cross.

use super::{Point, Segment, Vector};
use crate::elementary::tan;
use crate::tolerance::ROUNDING;

/// Arcs of at most this bulge turn by less than a quarter: tan(π/8) is 0.414.
const QUARTER_BULGE: f64 = 0.4;

impl Segment {
    /// Smallest distance between two segments, mm; 0 where they cross or touch.
    pub fn clearance(self, other: Self) -> f64 {
        self.closest(other).0
    }

    /// Smallest distance between two segments, mm, and the points of `self` and of `other` where it is.
    pub fn closest(self, other: Self) -> (f64, Point, Point) {
        if let Some(at) = self.crossings(other)[0] {
            return (0.0, at, at);
        }
        let mut best = (f64::INFINITY, self.from, other.from);
        let mut try_pair = |here: Point, there: Point| {
            let distance = here.distance(there);
            if distance < best.0 {
                best = (distance, here, there);
            }
        };
        for p in [self.from, self.to] {
            try_pair(p, other.nearest(p));
        }
        for p in [other.from, other.to] {
            try_pair(self.nearest(p), p);
        }
        // Where both are nearest in their interior, the connection stands square on both: it runs along the
        // line through the centres, or through the centre and square to the line.
        match (self.center(), other.center()) {
            (None, None) => {}
            (None, Some(center)) => {
                let foot = self.nearest(center);
                try_pair(foot, other.nearest(foot));
            }
            (Some(center), None) => {
                let foot = other.nearest(center);
                try_pair(self.nearest(foot), foot);
            }
            (Some(here), Some(there)) => {
                if let Some(along) = (there - here).normalized() {
                    for out in [along, -along] {
                        let p = here + out * self.radius();
                        if self.spans(p) {
                            try_pair(p, other.nearest(p));
                        }
                    }
                }
            }
        }
        best
    }

    /// Where two segments cross or touch; at most two points, ends included. Segments that share a run of
    /// some length (collinear lines, arcs of one circle) have no crossing.
    pub fn crossings(self, other: Self) -> [Option<Point>; 2] {
        match (self.center(), other.center()) {
            (None, None) => [line_line(self, other), None],
            (None, Some(center)) => on_both(line_circle(self, center, other.radius()), self, other),
            (Some(center), None) => on_both(line_circle(other, center, self.radius()), self, other),
            (Some(here), Some(there)) => on_both(
                circle_circle(here, self.radius(), there, other.radius()),
                self,
                other,
            ),
        }
    }

    /// Computes an upper bound of the largest distance from a point of `self` to `other`, mm. Exact for a line against
    /// a line and for an arc against a point; exact but for rounding when all of `self` lies in the sector of
    /// an arc `other` of at most a half turn; elsewhere too large by at most half the length of `self`.
    pub fn farthest_from(self, other: Self) -> f64 {
        if !self.is_arc() && !other.is_arc() {
            return self.farthest_from_line(other);
        }
        let to_ends = self
            .farthest_from_point(other.from)
            .min(self.farthest_from_point(other.to));
        let bound = match other.center() {
            None => self.farthest_from_line(other),
            Some(center) => self.farthest_from_arc(other, center),
        };
        to_ends.min(bound)
    }

    /// Whether [`Self::farthest_from`] is at most `limit` mm: mostly told by the ends alone, which are no farther than that.
    #[inline]
    pub fn keeps_within(self, limit: f64, other: Self) -> bool {
        let far_end = [self.from, self.to]
            .into_iter()
            .any(|end| other.distance(end) > limit);
        !far_end && (!self.is_arc() && !other.is_arc() || self.farthest_from(other) <= limit)
    }

    /// Largest distance from a point of `self` to `p`, mm.
    pub fn farthest_from_point(self, p: Point) -> f64 {
        let ends = p.distance(self.from).max(p.distance(self.to));
        let Some(center) = self.center() else { return ends };
        match (center - p).normalized() {
            Some(away) if self.spans_round(center, center + away) => {
                ends.max(p.distance(center) + self.radius())
            }
            _ => ends,
        }
    }

    /// Where the tangents at both ends of an arc of less than a half turn meet; `None` for a longer one.
    pub fn tangents_meet(self) -> Option<Point> {
        let square = self.bulge * self.bulge;
        // The tangent of half the sweep is 2b / (1 − b²).
        let rise = if self.is_arc() {
            self.bulge / (1.0 - square)
        } else {
            0.0
        };
        (square < 1.0 && rise.is_finite())
            .then(|| self.from.midpoint(self.to) - (self.to - self.from).left() * rise)
    }

    /// Returns the two halves.
    pub fn halves(self) -> [Self; 2] {
        let middle = self.at(0.5);
        let bulge = if self.is_arc() {
            self.bulge / (1.0 + (1.0 + self.bulge * self.bulge).sqrt())
        } else {
            0.0
        };
        [
            Self::arc(self.from, middle, bulge),
            Self::arc(middle, self.to, bulge),
        ]
    }

    /// Makes the part between `from` and `to` (0 ≤ from ≤ to ≤ 1, as parts of the length).
    #[must_use]
    pub fn part(self, from: f64, to: f64) -> Self {
        let bulge = if self.is_arc() {
            tan(self.sweep() * (to - from) / 4.0)
        } else {
            0.0
        };
        Self::arc(self.at(from), self.at(to), bulge)
    }

    /// Where its length is divided by the point of it nearest to `p`: 0 at the start, 1 at the end.
    pub fn parameter(self, p: Point) -> f64 {
        match self.center() {
            None => {
                let along = self.to - self.from;
                let square = along.dot(along);
                if square == 0.0 {
                    0.0
                } else {
                    ((p - self.from).dot(along) / square).clamp(0.0, 1.0)
                }
            }
            Some(center) => {
                let nearest = self.nearest(p);
                if nearest == self.from {
                    return 0.0;
                }
                if nearest == self.to {
                    return 1.0;
                }
                // Measured from the middle of the arc, where the turn has no jump.
                let turn = (self.at(0.5) - center).turn_to(nearest - center);
                (0.5 + turn / self.sweep()).clamp(0.0, 1.0)
            }
        }
    }

    /// The distance to a line is convex, so its maximum over a hull is at a corner of the hull: the ends and,
    /// for an arc, where the end tangents meet.
    fn farthest_from_line(self, line: Self) -> f64 {
        let ends = line.distance(self.from).max(line.distance(self.to));
        if !self.is_arc() {
            return ends;
        }
        let by_hull = self
            .tangents_meet()
            .map_or(f64::INFINITY, |corner| ends.max(line.distance(corner)));
        if by_hull > ends {
            by_hull.min(self.farthest_by_length(line))
        } else {
            ends
        }
    }

    fn farthest_from_arc(self, arc: Self, center: Point) -> f64 {
        // How far the hull leaves the sector of the arc; a sector of at most a half turn is convex.
        let outside = self
            .hull()
            .map(|p| outside_sector(arc, center, p))
            .fold(0.0, f64::max);
        if arc.bulge.abs() > 1.0 || !outside.is_finite() {
            return self.farthest_by_length(arc);
        }
        let off = |p: Point| (p.distance(center) - arc.radius()).abs();
        let ends = off(self.from).max(off(self.to));
        let inner = match self.center() {
            None => off(self.nearest(center)),
            Some(own) => (own - center).normalized().map_or(0.0, |along| {
                [along, -along]
                    .into_iter()
                    .map(|out| own + out * self.radius())
                    .filter(|&p| self.spans_round(own, p))
                    .map(off)
                    .fold(0.0, f64::max)
            }),
        };
        let by_sector = ends.max(inner) + 2.0 * outside;
        // Neither is below what is farthest: where they differ by roundings one is enough.
        if outside > ROUNDING * by_sector {
            by_sector.min(self.farthest_by_length(arc))
        } else {
            by_sector
        }
    }

    /// A distance changes by no more than the way moved.
    fn farthest_by_length(self, other: Self) -> f64 {
        let [start, middle, end] = [self.from, self.middle(), self.to].map(|p| other.distance(p));
        let half = 0.5 * self.length();
        0.5 * (middle + start.max(end) + half)
    }

    /// Corners of the triangle that holds it.
    fn hull(self) -> impl Iterator<Item = Point> {
        [Some(self.from), Some(self.to), self.hull_corner()]
            .into_iter()
            .flatten()
    }

    /// Third corner of the triangle that holds an arc; its ends suffice for a line.
    fn hull_corner(self) -> Option<Point> {
        if self.is_arc() {
            self.tangents_meet()
                .or(Some(Point::new(f64::INFINITY, f64::INFINITY)))
        } else {
            None
        }
    }
}

/// Strips along a line, or rings round the centre of an arc, that part it from other segments.
pub struct Parting {
    of: Segment,
    by: PartedBy,
}

enum PartedBy {
    Line {
        left: Vector,
    },
    Arc {
        center: Point,
        radius: f64,
        ends: [Vector; 2],
    },
}

impl Parting {
    /// Makes ready what is the same for all others.
    #[inline]
    pub fn new(of: Segment) -> Self {
        let by = match of.center() {
            None => PartedBy::Line {
                left: of.direction(0.5).left(),
            },
            Some(center) => {
                let radius = of.radius();
                let ends = [of.from, of.to].map(|end| (end - center) * (1.0 / radius));
                PartedBy::Arc { center, radius, ends }
            }
        };
        Self { of, by }
    }

    /// Computes a lower bound of the clearance from `other`, mm, negative where it says nothing: the width of a strip or ring without a
    /// point of either. One of at least `enough` is taken for wide enough. Exact between neighbours of one wall and its parallel.
    #[inline]
    pub fn width(&self, other: Segment, enough: f64) -> f64 {
        if let PartedBy::Line { left } = self.by
            && !other.is_arc()
        {
            let [a, b] = [other.from, other.to].map(|p| (p - self.of.from).dot(left));
            return a.min(b).max(-a.max(b));
        }
        let hull = [other.from, other.to, other.hull_corner().unwrap_or(other.to)];
        let width = match self.by {
            // A hull without end says nothing.
            _ if !hull[2].is_finite() => f64::NEG_INFINITY,
            PartedBy::Line { left } => {
                let [a, b, c] = hull.map(|p| (p - self.of.from).dot(left));
                a.min(b).min(c).max(-a.max(b).max(c))
            }
            // Round the arc nothing of the other is as far from its centre along any direction that the arc spans.
            PartedBy::Arc {
                center,
                radius,
                ends: [start, end],
            } if self.of.bulge.abs() <= 1.0 => {
                let sign = self.of.bulge.signum();
                // What an arc of less than a quarter turn spans lies before both of its ends.
                let is_wide = self.of.bulge.abs() > QUARTER_BULGE;
                let [a, b, c] = hull.map(|p| {
                    let out = p - center;
                    let by_ends = start.dot(out).max(end.dot(out));
                    let spans = (by_ends > 0.0 || is_wide)
                        && sign * start.cross(out) >= 0.0
                        && sign * out.cross(end) >= 0.0;
                    if spans { out.length() } else { by_ends }
                });
                radius - a.max(b).max(c)
            }
            PartedBy::Arc { .. } => f64::NEG_INFINITY,
        };
        match self.by {
            PartedBy::Arc { center, radius, .. } if width < enough => {
                width.max(other.distance(center) - radius)
            }
            _ => width,
        }
    }
}

/// Computes the distance by which `p` lies outside the sector of `arc`, as seen from its nearer bounding ray.
fn outside_sector(arc: Segment, center: Point, p: Point) -> f64 {
    if !p.is_finite() {
        return f64::INFINITY;
    }
    if arc.spans_round(center, p) {
        return 0.0;
    }
    [arc.from, arc.to]
        .into_iter()
        .map(|end| {
            let out = (end - center).normalized().unwrap_or_default();
            p.distance(center + out * (p - center).dot(out).max(0.0))
        })
        .fold(f64::INFINITY, f64::min)
}

fn on_both(points: [Option<Point>; 2], a: Segment, b: Segment) -> [Option<Point>; 2] {
    let mut kept = points.into_iter().flatten().filter(|&p| a.spans(p) && b.spans(p));
    [kept.next(), kept.next()]
}

fn line_line(a: Segment, b: Segment) -> Option<Point> {
    let (u, v) = (a.to - a.from, b.to - b.from);
    let denominator = u.cross(v);
    if denominator == 0.0 {
        return None;
    }
    let between = b.from - a.from;
    let s = between.cross(v) / denominator;
    let t = between.cross(u) / denominator;
    ((0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t)).then(|| a.from.lerp(a.to, s))
}

fn line_circle(line: Segment, center: Point, radius: f64) -> [Option<Point>; 2] {
    let Some(along) = (line.to - line.from).normalized() else {
        return [None, None];
    };
    let foot = line.from + along * (center - line.from).dot(along);
    two_points(foot, along, radius, foot.distance(center))
}

fn circle_circle(a: Point, a_radius: f64, b: Point, b_radius: f64) -> [Option<Point>; 2] {
    let between = b - a;
    let distance = between.length();
    let Some(along) = between.normalized() else {
        return [None, None];
    };
    let reach = 0.5 * (distance + (a_radius - b_radius) * (a_radius + b_radius) / distance);
    two_points(a + along * reach, along.left(), a_radius, reach.abs())
}

/// Returns the points on the line through `foot` along `along` at `radius` from a centre that is `height` away from
/// `foot`.
fn two_points(foot: Point, along: Vector, radius: f64, height: f64) -> [Option<Point>; 2] {
    if height > radius {
        return [None, None];
    }
    let half = ((radius - height) * (radius + height)).sqrt();
    [Some(foot + along * half), Some(foot - along * half)]
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    fn close(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-12, "{a} is not {b}");
    }

    fn quarter(radius: f64) -> Segment {
        Segment::arc(Point::new(radius, 0.0), Point::new(0.0, radius), (PI / 8.0).tan())
    }

    fn samples(s: Segment) -> impl Iterator<Item = Point> {
        (0..=500).map(move |i| s.at(f64::from(i) / 500.0))
    }

    fn gallery() -> Vec<Segment> {
        let mut all = Vec::new();
        for (i, bulge) in [0.0, 0.3, -0.3, 1.0, -0.9, 0.01, 0.0, 1.6, -3.0]
            .into_iter()
            .enumerate()
        {
            let turn = 0.7 * i as f64;
            for (x, y, size) in [(0.0, 0.0, 1.0), (0.4, 0.3, 2.0), (1.5, -0.2, 0.3)] {
                let from = Point::new(x, y);
                all.push(Segment::arc(from, from + Vector::unit(turn) * size, bulge));
            }
        }
        all
    }

    #[test]
    fn clearance_is_the_least_sampled_distance() {
        let mut apart = 0;
        for a in gallery() {
            for b in gallery() {
                let sampled = samples(a).map(|p| b.distance(p)).fold(f64::INFINITY, f64::min);
                let (exact, here, there) = a.closest(b);
                assert!(
                    exact <= sampled + 1e-12 && exact >= sampled - 2e-3 * a.length(),
                    "{a:?} {b:?}"
                );
                close(here.distance(there), exact);
                assert!(a.distance(here) < 1e-9 && b.distance(there) < 1e-9);
                close(b.clearance(a), exact);
                apart += usize::from(exact > 0.01);
            }
        }
        assert!(apart > 50);
    }

    #[test]
    fn what_parts_two_segments_is_never_wider_than_their_clearance() {
        let mut parted = 0;
        for a in gallery() {
            for b in gallery() {
                let (bound, exact) = (Parting::new(a).width(b, f64::INFINITY), a.clearance(b));
                assert!(bound <= exact + 1e-12, "{a:?} {b:?}: {bound} above {exact}");
                parted += usize::from(bound > exact - 1e-3 && exact > 0.01);
            }
        }
        assert!(parted > 50, "{parted}");
    }

    /// A wall of lines and arcs beside its parallel: each piece of it is parted from those before and behind by the whole distance.
    #[test]
    fn neighbours_of_a_wall_are_parted_by_the_distance_of_its_parallel() {
        let wall = [
            Segment::line(Point::new(0.0, 0.0), Point::new(3.0, 0.0)),
            Segment::arc(Point::new(3.0, 0.0), Point::new(5.0, 2.0), (PI / 8.0).tan()),
            Segment::line(Point::new(5.0, 2.0), Point::new(5.0, 4.0)),
            Segment::line(Point::new(5.0, 4.0), Point::new(3.0, 6.0)),
        ];
        for (i, s) in wall.into_iter().enumerate() {
            let along = s.parallel(0.25).expect("room");
            for (j, near) in wall.into_iter().enumerate() {
                let width = Parting::new(along)
                    .width(near, 0.25)
                    .max(Parting::new(near).width(along, 0.25));
                assert!(
                    i.abs_diff(j) > 1 || (width - 0.25).abs() < 1e-12,
                    "{i} {j}: {width}"
                );
            }
        }
        let corner = Segment::around_corner(wall[2], wall[3], 0.25).expect("juts out");
        for near in &wall[2..] {
            close(Parting::new(corner).width(*near, 0.25), 0.25);
        }
    }

    #[test]
    fn farthest_is_never_below_a_sample_and_not_far_above() {
        let mut tight = 0;
        for a in gallery() {
            for b in gallery() {
                let sampled = samples(a).map(|p| b.distance(p)).fold(0.0, f64::max);
                let bound = a.farthest_from(b);
                assert!(bound >= sampled - 1e-12, "{a:?} {b:?}: {bound} below {sampled}");
                assert!(bound <= sampled + 0.5 * a.length() + 1e-12);
                tight += usize::from(bound < sampled + 1e-3);
            }
            for p in [Point::new(0.5, 0.2), Point::new(-3.0, 1.0), a.at(0.3), a.from] {
                let sampled = samples(a).map(|q| q.distance(p)).fold(0.0, f64::max);
                let exact = a.farthest_from_point(p);
                assert!(exact >= sampled - 1e-12 && exact < sampled + 1e-4, "{a:?} {p:?}");
            }
        }
        assert!(tight > 50);
    }

    #[test]
    fn concentric_arcs_are_their_radii_apart() {
        close(quarter(3.0).farthest_from(quarter(2.0)), 1.0);
        close(quarter(2.0).farthest_from(quarter(3.0)), 1.0);
        close(quarter(2.0).clearance(quarter(3.0)), 1.0);
        let [first, second] = quarter(2.0).halves();
        close(first.farthest_from(quarter(3.0)), 1.0);
        close(second.to.distance(quarter(2.0).to), 0.0);
        close(quarter(2.0).part(0.25, 0.5).length(), PI / 4.0);
    }

    /// A line that leaves the sector of an arc by 0.01: the bound is too large by no more than twice that.
    #[test]
    fn beside_the_sector_of_an_arc_the_bound_is_nearly_exact() {
        let line = Segment::line(Point::new(2.0, -0.01), Point::new(2.0, 1.0));
        let bound = line.farthest_from(quarter(1.0));
        assert!(
            (5f64.sqrt() - 1.0..5f64.sqrt() - 0.979).contains(&bound),
            "{bound}"
        );
        let half = Segment::arc(Point::new(2.0, 0.0), Point::new(-2.0, 0.0), 1.0);
        close(quarter(3.0).farthest_from(half), 1.0);
    }

    #[test]
    fn parts_lie_on_the_whole_and_are_as_long() {
        for s in gallery() {
            let parts = [s.part(0.0, 0.2), s.part(0.2, 1.0)];
            for pieces in [s.halves(), parts] {
                close(pieces.map(Segment::length).iter().sum(), s.length());
                assert!(
                    pieces
                        .into_iter()
                        .flat_map(samples)
                        .all(|p| s.distance(p) < 1e-12)
                );
                close(pieces[0].to.distance(pieces[1].from), 0.0);
            }
            // From where the tangents at both ends meet it is as far to both, square to the radii there.
            let meet = s.tangents_meet();
            assert_eq!(meet.is_some(), s.bulge.abs() < 1.0);
            for (t, end) in [(0.0, s.from), (1.0, s.to)] {
                assert!(meet.is_none_or(|at| (at - end).cross(s.direction(t)).abs() < 1e-12));
            }
        }
    }

    #[test]
    fn parameter_undoes_at() {
        for s in gallery() {
            for t in [0.0, 0.1, 0.5, 0.77, 1.0] {
                assert!((s.parameter(s.at(t)) - t).abs() < 1e-9, "{s:?} at {t}");
            }
        }
    }

    #[test]
    fn a_line_through_a_circle_crosses_it_twice() {
        let line = Segment::line(Point::new(-1.0, 1.0), Point::new(3.0, 1.0));
        let half = Segment::arc(Point::new(1.0, 0.0), Point::new(-1.0, 0.0), 1.0);
        assert!(line.crossings(half)[0].is_some());
        let lower = Segment::line(Point::new(-3.0, 0.5), Point::new(3.0, 0.5));
        let both = lower.crossings(half);
        close(both[0].expect("crosses").x.abs(), 0.75f64.sqrt());
        close(both[1].expect("crosses twice").x.abs(), 0.75f64.sqrt());
    }
}
