use std::f64::consts::{PI, TAU};

use super::*;
use crate::geometry::EllipticArc;
use crate::geometry::biarc::ParametricCurve as _;

/// A counter-clockwise loop from points.
fn polygon(points: impl IntoIterator<Item = Point>) -> Polyline {
    Polyline::closed(points.into_iter().map(|p| (p.x, p.y, 0.0)))
}

fn on_circle(center: Point, radius: f64, from_deg: f64, to_deg: f64, facets: u32) -> Vec<Point> {
    let at = |i: u32| (from_deg + (to_deg - from_deg) * f64::from(i) / f64::from(facets)).to_radians();
    (0..=facets)
        .map(|i| center + Vector::unit(at(i)) * radius)
        .collect()
}

/// A 40 x 20 rectangle with corners of radius 5 in facets of 90°/`facets`.
fn rounded(facets: u32) -> Polyline {
    let corners = [
        (35.0, 5.0, -90.0),
        (35.0, 15.0, 0.0),
        (5.0, 15.0, 90.0),
        (5.0, 5.0, 180.0),
    ];
    polygon(
        corners
            .into_iter()
            .flat_map(|(x, y, from)| on_circle(Point::new(x, y), 5.0, from, from + 90.0, facets)),
    )
}

fn turned(line: &Polyline, by: usize) -> Polyline {
    let mut line = line.clone();
    line.vertices.rotate_left(by);
    line
}

#[test]
fn a_faceted_circle_becomes_the_circle() {
    let mut points = on_circle(Point::new(100.0, 50.0), 10.0, 0.0, 360.0, 72);
    points.pop();
    let line = polygon(points);
    // Sagitta of a chord of 5°: r(1 − cos 2.5°).
    let sagitta = 10.0 * (1.0 - 2.5f64.to_radians().cos());
    let runs = faceted_runs(&line);
    assert_eq!(runs.len(), 1);
    assert!(
        (runs[0].chord_error_mm - sagitta).abs() < 1e-9,
        "{}",
        runs[0].chord_error_mm
    );
    assert!(
        runs[0]
            .radius_mm
            .is_some_and(|radius| (radius - 10.0).abs() < 1e-9)
    );
    let refit = refit(&line, 0.01);
    assert!((refit.polyline.area() - 100.0 * PI).abs() < 1e-9);
    assert_eq!(refit.polyline.segment_count(), 2);
    assert!((refit.deviation_mm - sagitta).abs() < 1e-9);
}

#[test]
fn rounded_corners_become_arcs_from_every_start_and_both_ways() {
    let exact = 2.0 * (30.0 + 10.0) + 10.0 * PI;
    let facets = rounded(9);
    for start in 0..facets.vertices.len() {
        for line in [turned(&facets, start), turned(&facets, start).reversed()] {
            let refit = refit(&line, 0.02);
            assert_eq!(refit.replaced.len(), 4, "from vertex {start}");
            assert!(refit.left.is_empty());
            assert_eq!(refit.polyline.segment_count(), 8);
            assert_eq!(refit.sources.len(), 8);
            assert!((refit.polyline.length() - exact).abs() < 1e-9);
            // r(1 − cos 5°).
            let sagitta = 5.0 * (1.0 - 5f64.to_radians().cos());
            assert!((refit.deviation_mm - sagitta).abs() < 1e-9);
            assert!(refit.replaced.iter().all(|run| run.count == 9));
        }
    }
}

#[test]
fn a_tolerance_below_the_chord_error_changes_nothing() {
    let line = rounded(9);
    let refit = refit(&line, 0.015);
    assert_eq!(refit.left.len(), 4);
    assert!(refit.replaced.is_empty());
    assert_eq!(refit.polyline.segment_count(), line.segment_count());
    assert!((refit.polyline.length() - line.length()).abs() < 1e-12);
}

#[test]
fn real_polygons_are_no_facets() {
    for sides in [3, 4, 6, 8, 12] {
        let mut points = on_circle(Point::default(), 10.0, 0.0, 360.0, sides);
        points.pop();
        assert_eq!(faceted_runs(&polygon(points)), [], "{sides} sides");
    }
    let chamfered = [
        (5.0, 0.0),
        (35.0, 0.0),
        (40.0, 5.0),
        (40.0, 20.0),
        (0.0, 20.0),
        (0.0, 5.0),
    ];
    assert_eq!(
        faceted_runs(&polygon(chamfered.map(|(x, y)| Point::new(x, y)))),
        []
    );
}

#[test]
fn a_straight_line_in_pieces_is_no_arc() {
    let line = Polyline::open((0..40).map(|i| (f64::from(i), 2.0 * f64::from(i), 0.0)));
    assert_eq!(faceted_runs(&line), []);
}

#[test]
fn corners_between_runs_stay() {
    // Two arcs of radius 20 that meet at 18°, less than the coarsest facets turn.
    let mut points = on_circle(Point::default(), 20.0, 0.0, 60.0, 30);
    let joint = points[30];
    let back = Vector::unit((60.0f64 + 18.0).to_radians());
    points.extend(
        on_circle(joint - back * 20.0, 20.0, 78.0, 140.0, 31)
            .into_iter()
            .skip(1),
    );
    let line = Polyline::open(points.into_iter().map(|p| (p.x, p.y, 0.0)));
    let refit = refit(&line, 0.01);
    assert_eq!(refit.replaced.len(), 2);
    assert_eq!(refit.polyline.segment_count(), 2);
    assert!(refit.polyline.vertices[1].at.distance(joint) < 1e-12);
    let kink = refit
        .polyline
        .segment(0)
        .direction(1.0)
        .turn_to(refit.polyline.segment(1).direction(0.0));
    assert!((kink.to_degrees() - 18.0).abs() < 1e-6, "{}", kink.to_degrees());
}

#[test]
fn a_sampled_ellipse_becomes_few_tangent_arcs_near_its_length() {
    let ellipse = EllipticArc {
        center: Point::new(7.0, 7.0),
        u: Vector::new(10.0, 0.0),
        v: Vector::new(0.0, 5.0),
        start_rad: 0.0,
        sweep_rad: TAU,
    };
    // Printed with four decimals, as many drawings are.
    let printed = |v: f64| (v * 1e4).round() / 1e4;
    let line = polygon((0..400).map(|i| {
        let p = ellipse.point(TAU * f64::from(i) / 400.0);
        Point::new(printed(p.x), printed(p.y))
    }));
    let refit = refit(&line, 0.002);
    assert_eq!(refit.replaced.len(), 1);
    assert!(
        refit.polyline.segment_count() < 100,
        "{} arcs",
        refit.polyline.segment_count()
    );
    assert!(refit.deviation_mm <= 0.002);
    let (before, after) = (
        line.length() / ellipse.length(),
        refit.polyline.length() / ellipse.length(),
    );
    assert!((after - 1.0).abs() < 2e-5, "{after}");
    assert!((before - 1.0).abs() > (after - 1.0).abs());
    for (i, segment) in refit.polyline.segments().enumerate() {
        let next = refit.polyline.segment((i + 1) % refit.polyline.segment_count());
        assert!(segment.direction(1.0).turn_to(next.direction(0.0)).abs() < 1e-7);
    }
    // What it says of its deviation, measured both ways.
    for (one, other) in [(&line, &refit.polyline), (&refit.polyline, &line)] {
        for p in one.segments().flat_map(|s| [0.0, 0.3, 0.5, 0.8].map(|t| s.at(t))) {
            let nearest = other
                .segments()
                .map(|s| s.distance(p))
                .fold(f64::INFINITY, f64::min);
            assert!(nearest <= refit.deviation_mm + 1e-12, "{nearest} at {p:?}");
        }
    }
}

#[test]
fn a_straight_line_beside_a_run_goes_on_smoothly() {
    let mut points = vec![Point::new(-30.0, -10.0)];
    points.extend(on_circle(Point::default(), 10.0, -90.0, 0.0, 18));
    points.push(Point::new(10.0, 30.0));
    let line = Polyline::open(points.into_iter().map(|p| (p.x, p.y, 0.0)));
    let refit = refit(&line, 0.05);
    let shape: Vec<bool> = refit.polyline.segments().map(Segment::is_arc).collect();
    assert_eq!(shape, [false, true, false]);
    for i in 0..2 {
        let (one, next) = (refit.polyline.segment(i), refit.polyline.segment(i + 1));
        assert!(one.direction(1.0).turn_to(next.direction(0.0)).abs() < 1e-9);
    }
}

#[test]
fn lines_and_arcs_that_are_none_of_these_stay_as_they_are() {
    let stadium = Polyline::closed([
        (0.0, 0.0, 0.0),
        (10.0, 0.0, 1.0),
        (10.0, 4.0, 0.0),
        (0.0, 4.0, 1.0),
    ]);
    let refit = refit(&stadium, 0.1);
    assert_eq!(refit.polyline, stadium);
    assert_eq!(refit.sources, [0, 1, 2, 3]);
    assert_eq!(refit.deviation_mm, 0.0);
    assert_eq!(faceted_runs(&Polyline::default()), []);
}
