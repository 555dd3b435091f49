use super::{Point, Segment, Vector};

impl Segment {
    /// Computes the parallel at `distance` mm to the right; `None` for an arc that shrinks to its centre or beyond.
    pub fn parallel(self, distance: f64) -> Option<Self> {
        let Some(center) = self.center() else {
            let out = -self.direction(0.5).left() * distance;
            return Some(Self::line(self.from + out, self.to + out));
        };
        let radius = self.radius();
        let grown = if self.bulge > 0.0 {
            radius + distance
        } else {
            radius - distance
        };
        let scaled = |p: Point| center + (p - center) * (grown / radius);
        (grown > 0.0).then(|| Self::arc(scaled(self.from), scaled(self.to), self.bulge))
    }

    /// Computes the arc at `distance` mm round the corner where `before` passes into `after`, from the parallel of the one
    /// to that of the other; `None` unless the corner juts out to the right (the run turns left there).
    pub fn around_corner(before: Self, after: Self, distance: f64) -> Option<Self> {
        let (arriving, leaving) = (before.direction(1.0), after.direction(0.0));
        if arriving.cross(leaving) < 0.0 {
            return None;
        }
        let bulge = arriving.bulge_to(leaving);
        let out = |direction: Vector| before.to - direction.left() * distance;
        (bulge > 0.0).then(|| Self::arc(out(arriving), out(leaving), bulge))
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    #[test]
    fn parallels_keep_their_distance_and_the_sweep() {
        for bulge in [0.0, 0.4, -0.4, 1.0] {
            let s = Segment::arc(Point::new(1.0, 2.0), Point::new(4.0, -2.0), bulge);
            let p = s.parallel(0.5).expect("room");
            for t in [0.0, 0.3, 1.0] {
                assert!((s.distance(p.at(t)) - 0.5).abs() < 1e-12);
                assert!((p.at(t) - s.at(t)).dot(s.direction(t).left()) < 0.0);
            }
        }
        let tight = Segment::arc(Point::new(0.0, 1.0), Point::new(1.0, 0.0), -(PI / 8.0).tan());
        assert!(tight.parallel(1.1).is_none());
    }

    #[test]
    fn a_left_turn_juts_out_to_the_right() {
        let (a, b, c) = (Point::new(0.0, 0.0), Point::new(1.0, 0.0), Point::new(1.0, 1.0));
        let arc = Segment::around_corner(Segment::line(a, b), Segment::line(b, c), 0.25).expect("juts out");
        assert!((arc.length() - 0.25 * PI / 2.0).abs() < 1e-12);
        assert!((arc.at(0.5).distance(b) - 0.25).abs() < 1e-12);
        let back = Segment::around_corner(Segment::line(c, b), Segment::line(b, a), 0.25);
        assert!(back.is_none());
    }
}
