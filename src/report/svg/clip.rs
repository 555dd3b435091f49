//! Cutting curves to a window, so that no coordinate of a magnified view lies outside it.

use std::f64::consts::TAU;

use crate::elementary::{acos, tan};
use crate::geometry::{Bounds, Point, Polyline, Segment};

/// Returns the stretches of `polyline` inside `window`, arcs as arcs.
pub(super) fn runs(polyline: &Polyline, window: Bounds) -> Vec<Vec<Segment>> {
    let mut runs: Vec<Vec<Segment>> = Vec::new();
    for segment in polyline.segments() {
        if !segment.bounds().overlaps(window) {
            continue;
        }
        for piece in pieces(segment, window) {
            match runs.last_mut() {
                Some(run) if run.last().is_some_and(|last| last.to == piece.from) => run.push(piece),
                _ => runs.push(vec![piece]),
            }
        }
    }
    runs
}

fn pieces(segment: Segment, window: Bounds) -> Vec<Segment> {
    if window.contains_bounds(segment.bounds()) {
        return vec![segment];
    }
    let mut cuts = vec![0.0, 1.0];
    for x in [window.min.x, window.max.x] {
        cuts.extend(crossings(segment, |p| p.x, x));
    }
    for y in [window.min.y, window.max.y] {
        cuts.extend(crossings(segment, |p| p.y, y));
    }
    cuts.sort_by(f64::total_cmp);
    let stretch = |ends: &[f64]| part(segment, ends[0], ends[1]);
    let inside = |piece: &Segment| window.contains(piece.at(0.5)) && piece.from != piece.to;
    cuts.windows(2)
        .filter(|ends| ends[0] < ends[1])
        .map(stretch)
        .filter(inside)
        .collect()
}

/// Where along `segment` (0…1) one coordinate takes the value `level`.
fn crossings(segment: Segment, coordinate: fn(Point) -> f64, level: f64) -> Vec<f64> {
    let within = |t: &f64| *t > 0.0 && *t < 1.0;
    let Some(center) = segment.center() else {
        let (from, to) = (coordinate(segment.from), coordinate(segment.to));
        let t = (level - from) / (to - from);
        return Some(t).filter(within).into_iter().collect();
    };
    let radius = segment.radius();
    let height = level - coordinate(center);
    if height.abs() >= radius {
        return Vec::new();
    }
    // The two points of the circle at that level, as directions from its centre.
    let along = (radius * radius - height * height).sqrt();
    let is_x = coordinate(Point::new(1.0, 0.0)) > 0.0;
    let start = segment.from - center;
    [along, -along]
        .map(|side| {
            let out = if is_x { (height, side) } else { (side, height) };
            let turn = start.turn_to(crate::geometry::Vector::new(out.0, out.1));
            let turn = if segment.bulge > 0.0 {
                turn.rem_euclid(TAU)
            } else {
                -((-turn).rem_euclid(TAU))
            };
            turn / segment.sweep()
        })
        .into_iter()
        .filter(within)
        .collect()
}

fn part(segment: Segment, from: f64, to: f64) -> Segment {
    let bulge = if segment.is_arc() {
        tan(segment.sweep() * (to - from) / 4.0)
    } else {
        0.0
    };
    let end = |t: f64| {
        if t == 0.0 {
            segment.from
        } else if t == 1.0 {
            segment.to
        } else {
            segment.at(t)
        }
    };
    Segment::arc(end(from), end(to), bulge)
}

/// Returns the part of the area inside a loop that lies in `window`, as corners; arcs within `flat`.
pub(super) fn area(polyline: &Polyline, window: Bounds, flat: f64) -> Vec<Point> {
    let mut corners: Vec<Point> = polyline
        .segments()
        .flat_map(|segment| flattened(segment, flat))
        .collect();
    // Sutherland and Hodgman, Reentrant polygon clipping, Communications of the ACM 17 (1974).
    corners = beyond(&corners, |p| p.x - window.min.x);
    corners = beyond(&corners, |p| window.max.x - p.x);
    corners = beyond(&corners, |p| p.y - window.min.y);
    beyond(&corners, |p| window.max.y - p.y)
}

/// Returns the corners of a loop cut off where `height` is below 0.
fn beyond(corners: &[Point], height: impl Fn(Point) -> f64) -> Vec<Point> {
    let mut kept = Vec::with_capacity(corners.len());
    for (i, &to) in corners.iter().enumerate() {
        let from = corners[(i + corners.len() - 1) % corners.len()];
        let (before, after) = (height(from), height(to));
        if (before >= 0.0) != (after >= 0.0) {
            kept.push(from.lerp(to, before / (before - after)));
        }
        if after >= 0.0 {
            kept.push(to);
        }
    }
    kept
}

/// Points along a segment, its start left out, so that chords stay within `flat` of it.
fn flattened(segment: Segment, flat: f64) -> Vec<Point> {
    const MOST: f64 = 20_000.0;
    if !segment.is_arc() {
        return vec![segment.to];
    }
    let step = 2.0 * acos(1.0 - (flat / segment.radius()).min(1.0));
    let steps = (segment.sweep().abs() / step).ceil().clamp(1.0, MOST) as usize;
    (1..=steps).map(|i| segment.at(i as f64 / steps as f64)).collect()
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    const WINDOW: Bounds = Bounds {
        min: Point::new(0.0, 0.0),
        max: Point::new(1.0, 1.0),
    };

    #[test]
    fn a_circle_round_a_corner_of_the_window_leaves_a_quarter() {
        for circle in [
            Polyline::circle(Point::new(0.0, 0.0), 0.5),
            Polyline::circle(Point::new(0.0, 0.0), 0.5).reversed(),
        ] {
            let runs = runs(&circle, WINDOW);
            assert_eq!(runs.len(), 1);
            let length: f64 = runs[0].iter().map(|s| s.length()).sum();
            assert!((length - PI / 4.0).abs() < 1e-12, "{length}");
        }
        let corners = area(&Polyline::circle(Point::new(0.0, 0.0), 0.5), WINDOW, 1e-6);
        let shape = Polyline::closed(corners.iter().map(|p| (p.x, p.y, 0.0)));
        assert!((shape.area() - PI / 16.0).abs() < 1e-5);
    }

    #[test]
    fn a_line_through_is_cut_at_both_sides() {
        let line = Polyline::open([(-3.0, 0.25, 0.0), (5.0, 0.25, 0.0)]);
        let runs = runs(&line, WINDOW);
        assert_eq!(
            runs,
            [[Segment::line(Point::new(0.0, 0.25), Point::new(1.0, 0.25))]]
        );
    }

    #[test]
    fn what_is_outside_leaves_nothing_and_what_encloses_fills() {
        assert!(runs(&Polyline::circle(Point::new(0.5, 0.5), 9.0), WINDOW).is_empty());
        let filled = area(&Polyline::circle(Point::new(0.5, 0.5), 9.0), WINDOW, 0.01);
        let shape = Polyline::closed(filled.iter().map(|p| (p.x, p.y, 0.0)));
        assert!((shape.area() - 1.0).abs() < 1e-9);
        assert!(area(&Polyline::circle(Point::new(9.0, 9.0), 1.0), WINDOW, 0.01).is_empty());
    }
}
