use std::f64::consts::PI;

use super::{Point, Polyline, Vector};
use crate::elementary::sin;
use crate::tolerance::ROUND_SHARE;

impl Polyline {
    /// Computes the area of a loop, as [`Polyline::area`] gives it, and its first moment about `origin`, mm³: the centroid lies at
    /// `origin + moment / area`. Shoelace triangles and the caps of the arcs.
    pub fn moment(&self, origin: Point) -> (f64, Vector) {
        let mut moment = Vector::default();
        if !self.closed {
            return (0.0, moment);
        }
        for s in self.segments() {
            let (a, b) = (s.from - origin, s.to - origin);
            moment = moment + (a + b) * (a.cross(b) / 6.0);
            let Some(center) = s.center() else { continue };
            // A cap of radius R and sweep θ: its area times the distance of its centroid is 2/3 · (R · sin θ/2)³.
            let half_chord = s.radius() * sin(0.5 * s.sweep());
            let outward = (s.at(0.5) - center).normalized().unwrap_or_default();
            let about_center = outward * (2.0 / 3.0 * half_chord.powi(3));
            moment = moment + (center - origin) * s.cap_area() + about_center;
        }
        (self.area(), moment)
    }

    /// Returns the centre of a full circle; `None` of any other line.
    pub fn circle_center(&self) -> Option<Point> {
        let (length, area) = (self.length(), self.area().abs());
        // Nothing else encloses as much with its length.
        let round = self.closed && length > 0.0 && 4.0 * PI * area >= (1.0 - ROUND_SHARE) * length * length;
        round.then(|| self.bounds().center())
    }

    /// Centre of area of a loop; the middle of its bounds where it encloses none.
    pub fn centroid(&self) -> Point {
        let origin = self.bounds().center();
        let (area, moment) = self.moment(origin);
        if area == 0.0 {
            return origin;
        }
        origin + moment * area.recip()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A half disc of radius r has its centroid 4r/3π from its straight side (any table of centroids).
    #[test]
    fn a_half_disc_balances_where_the_tables_say() {
        let half = Polyline::closed([(-3.0, 10.0, 0.0), (3.0, 10.0, 1.0)]);
        let at = half.centroid();
        assert!((at.y - (10.0 + 4.0 * 3.0 / (3.0 * PI))).abs() < 1e-12 && at.x.abs() < 1e-12);
        assert!(half.reversed().centroid().distance(at) < 1e-12);
    }

    /// A quarter bitten out of a square of side 2: by subtraction of the quarter disc of radius 1, whose
    /// centroid lies 4/3π from both its straight sides.
    #[test]
    fn a_square_less_a_quarter_disc_balances_by_subtraction() {
        let bitten = Polyline::closed([
            (1.0, 0.0, 0.0),
            (2.0, 0.0, 0.0),
            (2.0, 2.0, 0.0),
            (0.0, 2.0, 0.0),
            (0.0, 1.0, -(PI / 8.0).tan()),
        ]);
        let quarter = PI / 4.0;
        let expected = (4.0 - quarter * 4.0 / (3.0 * PI)) / (4.0 - quarter);
        let at = bitten.centroid();
        assert!((bitten.area() - (4.0 - quarter)).abs() < 1e-12);
        assert!((at.x - expected).abs() < 1e-12 && (at.y - expected).abs() < 1e-12);
    }
}
