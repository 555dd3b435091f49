use super::{Point, Segment};

/// The nearest pair of points of two segments that do not cross: one on `a`, one on `b`.
pub fn closest(a: Segment, b: Segment) -> (Point, Point) {
    let mut pairs = vec![
        (a.from, b.nearest(a.from)),
        (a.to, b.nearest(a.to)),
        (a.nearest(b.from), b.from),
        (a.nearest(b.to), b.to),
    ];
    // Where neither is an end, the line through both points passes through the centre of every arc.
    match (a.center(), b.center()) {
        (None, None) => {}
        (Some(center), None) => {
            let q = b.nearest(center);
            pairs.push((a.nearest(q), q));
        }
        (None, Some(center)) => {
            let p = a.nearest(center);
            pairs.push((p, b.nearest(p)));
        }
        (Some(ca), Some(cb)) => {
            if let Some(out) = (cb - ca).normalized() {
                for (ra, rb) in [(1.0, -1.0), (1.0, 1.0), (-1.0, -1.0)] {
                    let (p, q) = (ca + out * (ra * a.radius()), cb + out * (rb * b.radius()));
                    pairs.push((a.nearest(p), b.nearest(q)));
                }
            }
        }
    }
    pairs
        .into_iter()
        .min_by(|p, q| p.0.distance(p.1).total_cmp(&q.0.distance(q.1)))
        .unwrap_or((a.from, b.from))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Polyline;

    fn apart(a: Segment, b: Segment) -> f64 {
        let (p, q) = closest(a, b);
        assert!(a.distance(p) < 1e-12 && b.distance(q) < 1e-12);
        let (r, s) = closest(b, a);
        assert!((p.distance(q) - r.distance(s)).abs() < 1e-12);
        p.distance(q)
    }

    #[test]
    fn distances_have_closed_forms() {
        let half = |x: f64, y: f64, r: f64| Polyline::circle(Point::new(x, y), r).segment(0);
        let line = |x0: f64, y0: f64, x1: f64, y1: f64| Segment::line(Point::new(x0, y0), Point::new(x1, y1));
        for (a, b, expected) in [
            (line(0.0, 0.0, 10.0, 0.0), line(8.0, 2.0, 20.0, 2.0), 2.0),
            (line(0.0, 0.0, 10.0, 0.0), line(13.0, 4.0, 20.0, 9.0), 5.0),
            // A circle under a line, beside another, within another.
            (half(0.0, 0.0, 2.0), line(-9.0, 5.0, 9.0, 5.0), 3.0),
            (half(0.0, 0.0, 2.0), half(6.0, 8.0, 3.0), 6.0),
            (half(0.0, 0.0, 5.0), half(0.0, 1.0, 3.0), 1.0),
            (half(0.0, 0.0, 5.0), half(0.0, 0.0, 3.0), 2.0),
        ] {
            // The second of the two beside each other opens upwards, away from the first.
            let expected = if expected == 6.0 {
                half(6.0, 8.0, 3.0).distance(Point::new(0.0, 0.0)) - 2.0
            } else {
                expected
            };
            assert!((apart(a, b) - expected).abs() < 1e-12, "{a:?} {b:?}");
        }
    }
}
