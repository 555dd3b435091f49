use std::f64::consts::TAU;

use super::{Bounds, Point, Vector};
use crate::tolerance::STRAIGHT_BULGE;

/// A straight line or a circular arc between two points. Straight when `|bulge|` is below
/// [`STRAIGHT_BULGE`]; at most a half turn when built by this crate (`|bulge| <= 1`), though longer arcs are
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
            4.0 * self.bulge.atan()
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

    /// Computes the length along the segment, mm.
    #[inline]
    pub fn length(self) -> f64 {
        if self.is_arc() {
            self.radius() * self.sweep().abs()
        } else {
            self.chord()
        }
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
        0.5 * radius * radius * (sweep - sweep.sin())
    }

    /// Computes the point at `t` of its length (0 at the start, 1 at the end).
    #[inline]
    pub fn at(self, t: f64) -> Point {
        match self.center() {
            None => self.from.lerp(self.to, t),
            Some(center) if t <= 0.5 => center + (self.from - center).turned(self.sweep() * t),
            Some(center) => center + (self.to - center).turned(self.sweep() * (t - 1.0)),
        }
    }

    /// Unit direction of travel at `t` of its length; zero for a segment of no length.
    #[inline]
    pub fn direction(self, t: f64) -> Vector {
        let chord = (self.to - self.from).normalized().unwrap_or_default();
        if self.is_arc() {
            chord.turned(self.sweep() * (t - 0.5))
        } else {
            chord
        }
    }

    /// Bounds, exact for arcs.
    #[inline]
    pub fn bounds(self) -> Bounds {
        let ends = Bounds::of([self.from, self.to]);
        let Some(center) = self.center() else { return ends };
        let radius = self.radius();
        [(radius, 0.0), (0.0, radius), (-radius, 0.0), (0.0, -radius)]
            .into_iter()
            .map(|(x, y)| center + Vector { x, y })
            .filter(|&p| self.spans(p))
            .fold(ends, Bounds::with_point)
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
            Some(center) => {
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
                if self.spans(p)
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
        }
    }

    #[test]
    fn a_line_of_no_length_is_a_point() {
        let line = Segment::line(Point::new(1.0, 1.0), Point::new(1.0, 1.0));
        close(line.distance(Point::new(4.0, 5.0)), 5.0);
        close(line.length(), 0.0);
    }
}
