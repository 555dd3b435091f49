//! Where two segments meet.

use std::f64::consts::TAU;

use super::{Point, Segment, Vector};

/// How two segments meet.
#[derive(Clone, Debug, PartialEq)]
pub enum Meeting {
    /// In single points, at most four: crossings, and places where they come within the tolerance.
    Points(Vec<Point>),
    /// They run along one another between these two points (both on the first segment).
    Along(Point, Point),
}

/// Where `a` and `b` come within `tolerance` mm of each other: exact crossings, tangent points, ends of one on
/// the other; or the stretch along which they run together, if that is longer than the tolerance. Where they
/// cross twice but stay within the tolerance in between, that is one point, half-way. Of two arcs of one circle
/// that overlap in two stretches only the longer is given.
pub fn meet(a: Segment, b: Segment, tolerance: f64) -> Meeting {
    if let Some((from, to)) = common_stretch(a, b, tolerance) {
        return Meeting::Along(from, to);
    }
    let mut points: Vec<Point> = Vec::new();
    let mut add = |p: Point| {
        for q in &mut points {
            let between = a.at(0.5 * (a.share(p) + a.share(*q)));
            if q.distance(p) <= 2.0 * tolerance {
                return;
            }
            if b.distance(between) <= tolerance {
                *q = between;
                return;
            }
        }
        points.push(p);
    };
    for p in [b.from, b.to] {
        if a.distance(p) <= tolerance {
            add(p);
        }
    }
    for p in [a.from, a.to] {
        if b.distance(p) <= tolerance {
            add(p);
        }
    }
    for p in candidates(a, b, tolerance) {
        if a.spans(p) && b.spans(p) {
            add(p);
        }
    }
    Meeting::Points(points)
}

/// Crossings and near tangencies of the whole lines or circles that the segments lie on.
fn candidates(a: Segment, b: Segment, tolerance: f64) -> Vec<Point> {
    match (a.center(), b.center()) {
        (None, None) => {
            let (u, v) = (a.to - a.from, b.to - b.from);
            let cross = u.cross(v);
            if cross == 0.0 {
                return Vec::new();
            }
            let t = (b.from - a.from).cross(v) / cross;
            vec![a.from + u * t]
        }
        (None, Some(center)) => line_and_circle(a, center, b.radius(), tolerance),
        (Some(center), None) => line_and_circle(b, center, a.radius(), tolerance),
        (Some(ca), Some(cb)) => circles((ca, a.radius()), (cb, b.radius()), tolerance),
    }
}

fn line_and_circle(line: Segment, center: Point, radius: f64, tolerance: f64) -> Vec<Point> {
    let Some(along) = (line.to - line.from).normalized() else {
        return Vec::new();
    };
    let foot = line.from + along * (center - line.from).dot(along);
    let half_square = radius * radius - (foot - center).dot(foot - center);
    if half_square > 0.0 {
        let half = along * half_square.sqrt();
        vec![foot + half, foot - half]
    } else if foot.distance(center) <= radius + tolerance {
        vec![foot]
    } else {
        Vec::new()
    }
}

fn circles((ca, ra): (Point, f64), (cb, rb): (Point, f64), tolerance: f64) -> Vec<Point> {
    let between = cb - ca;
    let Some(out) = between.normalized() else {
        return Vec::new();
    };
    let distance = between.length();
    // From the centre of `a` along the line of centres to the chord that the circles share.
    let along = 0.5 * (distance + (ra - rb) * (ra + rb) / distance);
    let half_square = (ra - along) * (ra + along);
    if half_square > 0.0 {
        let foot = ca + out * along;
        let half = out.left() * half_square.sqrt();
        return vec![foot + half, foot - half];
    }
    let apart = distance - ra - rb;
    let within = (ra - rb).abs() - distance;
    if apart > tolerance || within > tolerance {
        return Vec::new();
    }
    // Touching from outside, or the smaller one from inside.
    let side = if apart >= 0.0 || ra > rb { 1.0 } else { -1.0 };
    vec![ca + out * (ra * side)]
}

/// The stretch along which two segments lie within the tolerance of each other, if it is longer than that.
fn common_stretch(a: Segment, b: Segment, tolerance: f64) -> Option<(Point, Point)> {
    match (a.center(), b.center()) {
        (None, None) => {
            let length = a.chord();
            let u = (a.to - a.from).normalized()?;
            let (t0, t1) = ((b.from - a.from).dot(u), (b.to - a.from).dot(u));
            let (start, end) = (t0.min(t1).max(0.0), t0.max(t1).min(length));
            if end - start <= tolerance {
                return None;
            }
            let ends = (a.from + u * start, a.from + u * end);
            (b.distance(ends.0) <= tolerance && b.distance(ends.1) <= tolerance).then_some(ends)
        }
        (Some(ca), Some(cb)) => {
            let radius = a.radius();
            if (radius - b.radius()).abs() > tolerance || ca.distance(cb) > tolerance {
                return None;
            }
            // Angles from the start of `a` in its own direction of travel.
            let sign = a.bulge.signum();
            let sweep = a.sweep().abs();
            let b_from = if b.bulge.signum() == sign { b.from } else { b.to };
            let turn = (sign * (a.from - ca).turn_to(b_from - cb)).rem_euclid(TAU);
            let b_sweep = b.sweep().abs();
            let (start, end) = [turn, turn - TAU]
                .map(|start| (start.max(0.0), (start + b_sweep).min(sweep)))
                .into_iter()
                .max_by(|p, q| (p.1 - p.0).total_cmp(&(q.1 - q.0)))?;
            let at = |angle: f64| ca + Vector::turned(a.from - ca, sign * angle);
            ((end - start) * radius > tolerance).then(|| (at(start), at(end)))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Polyline;

    const TOLERANCE: f64 = 1e-6;

    fn line(x0: f64, y0: f64, x1: f64, y1: f64) -> Segment {
        Segment::line(Point::new(x0, y0), Point::new(x1, y1))
    }

    fn points(a: Segment, b: Segment) -> Vec<Point> {
        match meet(a, b, TOLERANCE) {
            Meeting::Points(points) => points,
            Meeting::Along(from, to) => panic!("along {from:?} {to:?}"),
        }
    }

    #[test]
    fn lines_cross_touch_or_miss() {
        assert_eq!(
            points(line(0.0, 0.0, 2.0, 2.0), line(0.0, 2.0, 2.0, 0.0)),
            [Point::new(1.0, 1.0)]
        );
        assert_eq!(
            points(line(0.0, 0.0, 2.0, 0.0), line(1.0, 0.0, 1.0, 5.0)),
            [Point::new(1.0, 0.0)]
        );
        assert!(points(line(0.0, 0.0, 2.0, 0.0), line(1.0, 1e-3, 1.0, 5.0)).is_empty());
        assert!(points(line(0.0, 0.0, 2.0, 0.0), line(0.0, 1.0, 2.0, 1.0)).is_empty());
    }

    #[test]
    fn collinear_lines_run_along_each_other() {
        assert_eq!(
            meet(line(0.0, 0.0, 6.0, 0.0), line(10.0, 0.0, 4.0, 0.0), TOLERANCE),
            Meeting::Along(Point::new(4.0, 0.0), Point::new(6.0, 0.0))
        );
        // End to end is no overlap.
        assert_eq!(
            points(line(0.0, 0.0, 6.0, 0.0), line(6.0, 0.0, 9.0, 0.0)).len(),
            1
        );
    }

    #[test]
    fn a_line_meets_a_circle_twice_or_touches_it() {
        let circle = Polyline::circle(Point::new(0.0, 0.0), 5.0);
        let upper = circle.segment(0);
        let found = points(line(-9.0, 3.0, 9.0, 3.0), upper);
        assert_eq!(found.len(), 2);
        for p in found {
            assert!((p.x.abs() - 4.0).abs() < 1e-12 && (p.y - 3.0).abs() < 1e-12);
        }
        assert_eq!(points(line(-9.0, 5.0, 9.0, 5.0), upper).len(), 1);
        assert!(points(line(-9.0, 5.01, 9.0, 5.01), upper).is_empty());
        assert!(points(line(-9.0, -3.0, 9.0, -3.0), upper).is_empty());
    }

    #[test]
    fn circles_cross_touch_from_outside_and_inside() {
        let arc = |x: f64, r: f64| Polyline::circle(Point::new(x, 0.0), r).segment(0);
        // 3-4-5 triangle: circles of radius 5 with centres 6 apart cross 4 above the line of centres.
        let found = points(arc(0.0, 5.0), arc(6.0, 5.0));
        assert_eq!(found.len(), 1);
        assert!((found[0].x - 3.0).abs() < 1e-12 && (found[0].y - 4.0).abs() < 1e-12);
        assert_eq!(points(arc(0.0, 5.0), arc(8.0, 3.0)), [Point::new(5.0, 0.0)]);
        assert_eq!(points(arc(0.0, 5.0), arc(2.0, 3.0)), [Point::new(5.0, 0.0)]);
        assert!(points(arc(0.0, 5.0), arc(1.0, 3.0)).is_empty());
    }

    #[test]
    fn arcs_of_one_circle_run_along_each_other() {
        let circle = Polyline::circle(Point::new(1.0, 2.0), 5.0);
        let quarter = Segment::arc(
            circle.segment(0).at(0.25),
            circle.segment(0).at(0.75),
            (std::f64::consts::PI / 8.0).tan(),
        );
        for other in [quarter, quarter.reversed()] {
            let Meeting::Along(from, to) = meet(circle.segment(0), other, TOLERANCE) else {
                panic!("no overlap");
            };
            assert!((from.distance(to) - quarter.chord()).abs() < 1e-9);
        }
        assert!(
            matches!(meet(circle.segment(0), circle.segment(1), TOLERANCE), Meeting::Points(p) if p.len() == 2)
        );
    }
}
