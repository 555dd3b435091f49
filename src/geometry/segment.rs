use std::f64::consts::TAU;

use super::{Bounds, Point, Vector};
use crate::elementary::{atan, sin};
use crate::tolerance::STRAIGHT_BULGE;

/// Below this square of the bulge, five terms of the series of atan(b)/b are good to the last digit of `f64`.
const FLAT_SQUARE: f64 = 1.0 / 4096.0;

/// A straight line or a circular arc between two points. Straight when `|bulge|` is below
/// `STRAIGHT_BULGE`; at most a half turn when built by this crate (`|bulge| <= 1`), though longer arcs are
/// measured rightly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Where it starts.
    pub from: Point,
    /// Where it ends.
    pub to: Point,
    /// tan(sweep / 4), counter-clockwise positive.
    pub bulge: f64,
}

/// The circle that an arc is a part of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ArcCircle {
    /// Its middle.
    pub(crate) center: Point,
    /// Its radius, mm.
    pub(crate) radius_mm: f64,
}

impl Segment {
    /// Makes a straight line.
    #[inline]
    pub const fn line(from: Point, to: Point) -> Self {
        Self { from, to, bulge: 0.0 }
    }

    /// Makes an arc (or a line, if `bulge` is nearly 0).
    #[inline]
    pub const fn arc(from: Point, to: Point, bulge: f64) -> Self {
        Self { from, to, bulge }
    }

    /// Whether it is an arc rather than a line.
    #[inline]
    pub fn is_arc(self) -> bool {
        self.bulge.abs() > STRAIGHT_BULGE
    }

    /// Computes the distance between the ends, mm.
    #[inline]
    pub fn chord(self) -> f64 {
        self.from.distance(self.to)
    }

    /// Signed sweep in radians, counter-clockwise positive, 0 for a line.
    pub fn sweep(self) -> f64 {
        if self.is_arc() {
            4.0 * atan(self.bulge)
        } else {
            0.0
        }
    }

    /// Radius in mm; infinite for a line.
    #[inline]
    pub fn radius(self) -> f64 {
        if self.is_arc() {
            self.chord() * (1.0 + self.bulge * self.bulge) / (4.0 * self.bulge.abs())
        } else {
            f64::INFINITY
        }
    }

    /// Centre of the arc, or `None` for a line.
    #[inline]
    pub fn center(self) -> Option<Point> {
        self.is_arc().then(|| {
            let half = (self.to - self.from) * 0.5;
            let b = self.bulge;
            self.from + half + half.left() * ((1.0 - b * b) / (2.0 * b))
        })
    }

    /// Returns the circle of an arc, or `None` for a line.
    #[inline]
    pub(crate) fn circle(self) -> Option<ArcCircle> {
        self.center().map(|center| ArcCircle {
            center,
            radius_mm: self.radius(),
        })
    }

    /// Computes the length along the segment, mm.
    #[inline]
    pub fn length(self) -> f64 {
        if !self.is_arc() {
            return self.chord();
        }
        let square = self.bulge * self.bulge;
        // r·4·atan b = chord·(1 + b²)·atan(b)/b; of a flat arc the series of atan(b)/b is sooner summed, to the last digit.
        let turn = if square < FLAT_SQUARE {
            1.0 - square * (1.0 / 3.0 - square * (0.2 - square * (1.0 / 7.0 - square / 9.0)))
        } else {
            atan(self.bulge) / self.bulge
        };
        self.chord() * (1.0 + square) * turn
    }

    /// Computes the point half-way along.
    #[inline]
    pub fn middle(self) -> Point {
        let half = (self.to - self.from) * 0.5;
        let middle = self.from + half;
        // The tangent of a quarter of the sweep is the rise over half the chord.
        if self.is_arc() {
            middle - half.left() * self.bulge
        } else {
            middle
        }
    }

    /// Computes the distance from its middle to its ends, mm: no point of it is farther from there.
    #[inline]
    pub fn half_extent(self) -> f64 {
        0.5 * self.chord() * (1.0 + self.bulge * self.bulge).sqrt()
    }

    /// Makes the same curve walked the other way.
    #[must_use]
    #[inline]
    pub fn reversed(self) -> Self {
        Self {
            from: self.to,
            to: self.from,
            bulge: -self.bulge,
        }
    }

    /// Computes the area between the segment and its chord, mm²; positive when the arc bulges to the right of the chord
    /// (counter-clockwise), so that a counter-clockwise loop's shoelace area plus these is its area.
    pub fn cap_area(self) -> f64 {
        if !self.is_arc() {
            return 0.0;
        }
        let (sweep, radius) = (self.sweep(), self.radius());
        0.5 * radius * radius * (sweep - sin(sweep))
    }

    /// Computes the point at `t` of its length (0 at the start, 1 at the end).
    #[inline]
    pub fn at(self, t: f64) -> Point {
        match self.center() {
            None => self.from.lerp(self.to, t),
            Some(_) if t == 0.5 => self.middle(),
            Some(center) if t <= 0.5 => center + (self.from - center).turned(self.sweep() * t),
            Some(center) => center + (self.to - center).turned(self.sweep() * (t - 1.0)),
        }
    }

    /// Unit direction of travel at `t` of its length; zero for a segment of no length.
    #[inline]
    pub fn direction(self, t: f64) -> Vector {
        let chord = (self.to - self.from).normalized().unwrap_or_default();
        if !self.is_arc() || t == 0.5 {
            return chord;
        }
        if t != 0.0 && t != 1.0 {
            return chord.turned(self.sweep() * (t - 0.5));
        }
        // Turned by half the sweep, twice the angle of which the bulge is the tangent.
        let square = self.bulge * self.bulge;
        let (along, across) = (1.0 - square, if t == 0.0 { -2.0 } else { 2.0 } * self.bulge);
        (chord * along + chord.left() * across) * (1.0 / (1.0 + square))
    }

    /// Bounds, exact for arcs.
    #[inline]
    pub fn bounds(self) -> Bounds {
        let ends = Bounds::of([self.from, self.to]);
        let Some(center) = self.center() else { return ends };
        let (radius, sign) = (self.radius(), self.bulge.signum());
        let (from, to) = ((self.from - center) * sign, (self.to - center) * sign);
        // As `spans` of the rightmost, topmost, leftmost and lowest point of the circle.
        let spans = |after_start: bool, before_end: bool| {
            if self.bulge.abs() <= 1.0 {
                after_start && before_end
            } else {
                after_start || before_end
            }
        };
        [
            (spans(from.y <= 0.0, to.y >= 0.0), radius, 0.0),
            (spans(from.x >= 0.0, to.x <= 0.0), 0.0, radius),
            (spans(from.y >= 0.0, to.y <= 0.0), -radius, 0.0),
            (spans(from.x <= 0.0, to.x >= 0.0), 0.0, -radius),
        ]
        .into_iter()
        .filter(|&(spans, ..)| spans)
        .fold(ends, |all, (_, x, y)| all.with_point(center + Vector { x, y }))
    }

    /// Whether the arc's sweep holds the direction from its centre to `p`; for a line, whether `p` projects
    /// onto it.
    #[inline]
    pub fn spans(self, p: Point) -> bool {
        match self.center() {
            None => {
                let along = self.to - self.from;
                let t = (p - self.from).dot(along);
                t >= 0.0 && t <= along.dot(along)
            }
            Some(center) => self.spans_round(center, p),
        }
    }

    /// The same for an arc round `center`.
    #[inline]
    pub(super) fn spans_round(self, center: Point, p: Point) -> bool {
        let (from, to, out) = (self.from - center, self.to - center, p - center);
        let sign = self.bulge.signum();
        // On the right side of both ends of at most a half turn; of more, not beyond both ends.
        let (after_start, before_end) = (sign * from.cross(out) >= 0.0, sign * out.cross(to) >= 0.0);
        if self.bulge.abs() <= 1.0 {
            after_start && before_end
        } else {
            after_start || before_end
        }
    }

    /// Computes the share of the length from the start to `p`, a point on the segment: `at` the other way round. A point
    /// beyond an end gives that end.
    pub fn share(self, p: Point) -> f64 {
        let share = match self.center() {
            None => {
                let along = self.to - self.from;
                (p - self.from).dot(along) / along.dot(along)
            }
            Some(center) => {
                let sweep = self.sweep();
                let turn = sweep.signum() * (self.from - center).turn_to(p - center);
                let (before, after) = (-turn, turn + TAU - sweep.abs());
                // Short of the start, past the end, or the far part of more than a half turn?
                let turn = if turn < 0.0 && after < before {
                    turn + TAU
                } else {
                    turn
                };
                turn / sweep.abs()
            }
        };
        if share.is_finite() {
            share.clamp(0.0, 1.0)
        } else {
            0.0
        }
    }

    /// Finds the point of the segment nearest to `p`.
    #[inline]
    pub fn nearest(self, p: Point) -> Point {
        match self.center() {
            None => {
                let along = self.to - self.from;
                let square = along.dot(along);
                if square == 0.0 {
                    return self.from;
                }
                let t = ((p - self.from).dot(along) / square).clamp(0.0, 1.0);
                if t <= 0.5 {
                    self.from + along * t
                } else {
                    self.to - along * (1.0 - t)
                }
            }
            Some(center) => {
                if self.spans_round(center, p)
                    && let Some(out) = (p - center).normalized()
                {
                    return center + out * self.radius();
                }
                if p.distance(self.from) <= p.distance(self.to) {
                    self.from
                } else {
                    self.to
                }
            }
        }
    }

    /// Computes the distance from `p` to the segment, mm.
    #[inline]
    pub fn distance(self, p: Point) -> f64 {
        p.distance(self.nearest(p))
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    fn close(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-12 * b.abs().max(1.0), "{a} is not {b}");
    }

    #[test]
    fn half_circle_is_measured_in_closed_form() {
        let arc = Segment::arc(Point::new(1.0, 0.0), Point::new(-1.0, 0.0), 1.0);
        close(arc.length(), PI);
        close(arc.radius(), 1.0);
        close(arc.cap_area(), PI / 2.0);
        let bounds = arc.bounds();
        close(bounds.max.y, 1.0);
        close(bounds.min.y, 0.0);
        close(arc.at(0.5).y, 1.0);
        close(arc.direction(0.0).y, 1.0);
    }

    #[test]
    fn clockwise_quarter_bends_the_other_way() {
        let arc = Segment::arc(Point::new(0.0, 1.0), Point::new(1.0, 0.0), -(PI / 8.0).tan());
        let center = arc.center().expect("an arc has a centre");
        close(center.x, 0.0);
        close(center.y, 0.0);
        close(arc.distance(Point::new(2.0, 2.0)), 8f64.sqrt() - 1.0);
        close(arc.distance(Point::new(-3.0, 1.0)), 3.0);
    }

    /// Over a chord of 1 m a bulge of 2e-12 rises 1 nm (half of chord times bulge): below it is a line, above an arc.
    #[test]
    fn what_rises_less_than_a_nanometre_over_a_metre_is_straight() {
        for (rise_nm, arc) in [(0.9, false), (1.1, true), (-0.9, false), (-1.1, true)] {
            let bulge = 2.0 * rise_nm * 1e-9 / 1000.0;
            let segment = Segment::arc(Point::default(), Point::new(1000.0, 0.0), bulge);
            assert_eq!(segment.is_arc(), arc, "{rise_nm}");
            assert_eq!(segment.radius().is_finite(), arc);
        }
    }

    #[test]
    fn share_undoes_at() {
        let ends = (Point::new(3.0, 1.0), Point::new(-2.0, 4.0));
        for bulge in [0.0, 0.3, -1.0, 1.0, 2.5, -7.0] {
            let segment = Segment::arc(ends.0, ends.1, bulge);
            for t in [0.0, 0.1, 0.5, 0.9, 1.0] {
                assert!(
                    (segment.share(segment.at(t)) - t).abs() < 1e-12,
                    "bulge {bulge}, share {t}"
                );
            }
            // Beyond an end it is that end: on along the circle of an arc, up to half of what it leaves of it.
            let on = |end: f64, by: f64| match segment.center() {
                None => segment.at(end) + segment.direction(end) * by,
                Some(center) => center + (segment.at(end) - center).turned(by * bulge.signum()),
            };
            let rest = (TAU - segment.sweep().abs()).min(1.0);
            for part in [0.1, 0.4] {
                assert_eq!(segment.share(on(0.0, -part * rest)), 0.0, "bulge {bulge}");
                assert_eq!(segment.share(on(1.0, part * rest)), 1.0, "bulge {bulge}");
            }
        }
    }

    /// Against the same by angles, sines and cosines.
    #[test]
    fn middles_ends_and_lengths_are_those_of_the_angles() {
        let (from, to) = (Point::new(3.0, 1.0), Point::new(-2.0, 4.0));
        for bulge in [1e-9, 1e-4, 0.015, 0.016, 0.4, -0.7, 1.0, -1.0, 2.5, -7.0] {
            let arc = Segment::arc(from, to, bulge);
            let (center, sweep) = (arc.center().expect("an arc"), 4.0 * f64::atan(bulge));
            assert!(
                (arc.length() - arc.radius() * sweep.abs()).abs() < 1e-14 * arc.length(),
                "{bulge}"
            );
            if bulge.abs() > 1e-3 {
                let middle = center + (from - center).turned(0.5 * sweep);
                assert!(arc.middle().distance(middle) < 1e-12 * arc.radius(), "{bulge}");
                for (t, end) in [(0.0, from), (1.0, to)] {
                    let out = (end - center).normalized().expect("a radius") * bulge.signum();
                    assert!((arc.direction(t) - out.left()).length() < 1e-12, "{bulge}");
                }
            }
            let extent = arc.half_extent();
            assert!(
                (arc.middle().distance(from) - extent).abs() < 1e-12 * extent.max(1.0),
                "{bulge}"
            );
            let samples = (0..=100).map(|i| arc.at(f64::from(i) / 100.0));
            let bounds = arc.bounds();
            assert!(
                samples
                    .clone()
                    .all(|p| arc.middle().distance(p) <= extent * (1.0 + 1e-9))
            );
            assert!(samples.clone().all(|p| bounds.grown(1e-9).contains(p)));
            let sampled = Bounds::of(samples);
            assert!(sampled.width() > bounds.width() - 1e-2 && sampled.height() > bounds.height() - 1e-2);
        }
    }

    #[test]
    fn a_line_of_no_length_is_a_point() {
        let line = Segment::line(Point::new(1.0, 1.0), Point::new(1.0, 1.0));
        close(line.distance(Point::new(4.0, 5.0)), 5.0);
        close(line.length(), 0.0);
    }
}
