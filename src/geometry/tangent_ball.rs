use super::{ArcCircle, Point, Segment, Vector};
use crate::tolerance::{ROUNDING, SAME_POINT_MM};

impl Segment {
    /// Radius of the largest ball that touches `p` along the unit vector `normal` and has nothing of this segment in
    /// its inside, and where it touches the segment; `None` when the segment bounds no such ball. A ball smaller than
    /// `SAME_POINT_MM` does not count: a segment on which `p` lies bounds only balls that meet it elsewhere. On an
    /// arc that has `p` on its own circle all is equally near, and the point farthest from `p` is given.
    pub fn tangent_ball(self, p: Point, normal: Vector) -> Option<(f64, Point)> {
        self.tangent_ball_within(self.circle(), p, normal, f64::INFINITY)
    }

    /// As [`Self::tangent_ball`], of the segment whose [`Self::circle`] is given, with a radius of at most `most`.
    #[inline]
    pub(crate) fn tangent_ball_within(
        self,
        circle: Option<ArcCircle>,
        p: Point,
        normal: Vector,
        most: f64,
    ) -> Option<(f64, Point)> {
        // Balls that grow from `p` are nested. The first point that they meet is a point of tangency, or an end.
        let tangent = match circle {
            None => self.tangent_to_line(p, normal),
            Some(circle) => match self.tangent_to_arc(circle, p, normal, most) {
                ArcBall::Touches(radius, touch) => Some((radius, touch)),
                ArcBall::TooLarge => return None,
                ArcBall::Misses => None,
            },
        };
        let tangent = tangent.or_else(|| {
            let ends = [self.from, self.to].into_iter();
            let balls = ends.filter_map(|q| Some((ball_through(p, normal, q)?, q)));
            balls.min_by(|a, b| a.0.total_cmp(&b.0))
        });
        tangent.filter(|&(radius, _)| radius <= most)
    }

    fn tangent_to_line(self, p: Point, normal: Vector) -> Option<(f64, Point)> {
        let along = (self.to - self.from).normalized()?;
        let height = along.cross(p - self.from);
        // From the line towards `p`.
        let up = along.left() * height.signum();
        let off = normal - up;
        // 1 − cos of the angle between the two, without cancellation.
        let radius = height.abs() / (0.5 * off.dot(off));
        let place = along.dot(p - self.from) + radius * along.dot(normal);
        let met = radius > SAME_POINT_MM
            && place >= 0.0
            && place * place <= (self.to - self.from).dot(self.to - self.from);
        met.then(|| (radius, self.from + along * place))
    }

    #[inline]
    fn tangent_to_arc(self, circle: ArcCircle, p: Point, normal: Vector, most: f64) -> ArcBall {
        let ArcCircle { center, radius_mm } = circle;
        let out = p - center;
        let (square, ahead) = (out.dot(out), out.dot(normal));
        let off = square - radius_mm * radius_mm;
        let slack = ROUNDING.sqrt() * radius_mm;
        if off.abs() <= ROUNDING.sqrt() * square && ahead.abs() >= radius_mm - slack {
            // Square to its own circle: inwards all of it is equally near, outwards none is met, where both terms below are rounding.
            return if ahead < 0.0 {
                ArcBall::Touches(radius_mm, self.farthest_round(center, p))
            } else {
                ArcBall::Misses
            };
        }
        let ball = if off > 0.0 {
            off / (2.0 * (radius_mm - ahead))
        } else {
            -off / (2.0 * (radius_mm + ahead))
        };
        if !(ball > SAME_POINT_MM && ball.is_finite()) {
            return ArcBall::Misses;
        }
        // The whole circle bounds no larger a ball than a part of it.
        if ball > most {
            return ArcBall::TooLarge;
        }
        // Outside the circle or inside, the ball is met in the direction of its centre.
        let towards = (p + normal * ball - center).normalized();
        match towards.map(|towards| center + towards * radius_mm) {
            Some(touch) if self.spans_round(center, touch) => ArcBall::Touches(ball, touch),
            _ => ArcBall::Misses,
        }
    }

    /// Computes the point of an arc round `center` that is farthest from `p` on the same circle.
    fn farthest_round(self, center: Point, p: Point) -> Point {
        let opposite = center + (center - p);
        if self.spans_round(center, opposite) {
            opposite
        } else if p.distance(self.from) >= p.distance(self.to) {
            self.from
        } else {
            self.to
        }
    }
}

/// What an arc is to the balls that grow from a point.
enum ArcBall {
    /// It bounds one of this radius, here.
    Touches(f64, Point),
    /// It bounds none that is small enough.
    TooLarge,
    /// Not between its ends.
    Misses,
}

/// Radius of the ball that touches `p` along `normal` and passes through `q`; `None` when `q` is not ahead.
pub fn ball_through(p: Point, normal: Vector, q: Point) -> Option<f64> {
    let v = q - p;
    let ahead = 2.0 * v.dot(normal);
    let radius = v.dot(v) / ahead;
    (ahead > 0.0 && radius > SAME_POINT_MM).then_some(radius)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn no_point_of_the_segment_is_inside_and_one_is_touched(
            x in -5.0..5.0f64, y in -5.0..5.0f64, bulge in -1.0..1.0f64, straight: bool, angle in 0.0..6.3f64,
        ) {
            let bulge = if straight { 0.0 } else { bulge };
            let segment = Segment::arc(Point::new(1.0, 2.0), Point::new(x, y), bulge);
            prop_assume!(segment.chord() > 0.1);
            let (p, normal) = (Point::default(), Vector::unit(angle));
            // The least of the balls through many points of the segment.
            let tried = (0..=20_000)
                .filter_map(|i| ball_through(p, normal, segment.at(f64::from(i) / 20_000.0)))
                .fold(f64::INFINITY, f64::min);
            // No larger than is asked for, else none; with equality, as a bound that the ball itself gave.
            let whole = segment.tangent_ball(p, normal);
            for most in [0.5, 3.0, whole.map_or(10.0, |(radius, _)| radius)] {
                let within = segment.tangent_ball_within(segment.circle(), p, normal, most);
                prop_assert_eq!(within, whole.filter(|&(radius, _)| radius <= most));
            }
            // Nearer than this, what lies between two tried points tells.
            let near = segment.distance(p) < 0.02;
            match segment.tangent_ball(p, normal) {
                _ if near => {}
                None => prop_assert!(tried > 1e6, "tried {}", tried),
                Some((radius, touch)) => {
                    prop_assert!(radius <= tried * (1.0 + 1e-9), "{} of {}", radius, tried);
                    prop_assert!(tried.min(1e4) <= radius * (1.0 + 1e-3), "{} of {}", radius, tried);
                    let center = p + normal * radius;
                    prop_assert!((center.distance(touch) - radius).abs() <= 1e-9 * radius.max(1.0));
                    prop_assert!(segment.distance(touch) < 1e-9);
                }
            }
        }
    }

    /// Far from the origin the centre of an arc is off by the rounding of its coordinates: it does not bound the balls outside it.
    #[test]
    fn an_arc_far_away_bounds_no_ball_on_its_back() {
        let center = Point::new(9928.9, 5236.6);
        for step in 0..5000 {
            let out = Vector::unit(0.1 * f64::from(step)) * 2.0;
            let halves = [out, -out].map(|out| Segment::arc(center + out, center - out, 1.0));
            for (half, other) in [(0, 0), (0, 1), (1, 0)].map(|(i, j)| (halves[i], halves[j])) {
                for t in [0.0, 0.3, 1.0] {
                    let (p, away) = (half.at(t), half.at(t) - half.center().expect("an arc"));
                    let met = other.tangent_ball(p, away * away.length().recip());
                    assert!(met.is_none(), "{met:?} at {t} of {half:?}");
                }
            }
        }
    }

    #[test]
    fn a_bay_is_as_wide_as_its_circle() {
        let bay = Segment::arc(Point::new(2.0, 0.0), Point::new(-2.0, 0.0), -1.0);
        for t in [0.0, 0.2, 0.7, 1.0] {
            let (radius, touch) = bay
                .tangent_ball(bay.at(t), bay.direction(t).left() * -1.0)
                .expect("its own circle bounds it");
            assert!((radius - 2.0).abs() < 1e-12);
            assert!(touch.distance(bay.at(if t < 0.5 { 1.0 } else { 0.0 })) < 1e-9);
        }
    }
}
