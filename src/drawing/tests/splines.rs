//! Splines: what they become, and which are refused.

use std::f64::consts::{PI, TAU};

use super::*;

fn spline(degree: i32, knots: &[f64], control: &[[f64; 3]]) -> Spline {
    Spline {
        degree,
        knots: knots.to_vec(),
        control: control.to_vec(),
        ..Spline::default()
    }
}

fn of_spline(shape: Spline) -> Result<Curve, Error> {
    let drawing = draw(&document(vec![entity(Shape::Spline(Box::new(shape)))], vec![]))?;
    Ok(drawing.curves.into_iter().next().expect("one curve"))
}

#[test]
fn a_spline_of_degree_one_is_its_polygon() {
    let corners = [[0.0, 0.0, 0.0], [3.0, 4.0, 0.0], [3.0, 0.0, 0.0]];
    let curve = of_spline(spline(1, &[0.0, 0.0, 1.0, 2.0, 2.0], &corners)).expect("it can be drawn");
    assert_eq!(
        curve.polyline,
        Polyline::open([(0.0, 0.0, 0.0), (3.0, 4.0, 0.0), (3.0, 0.0, 0.0)])
    );
    assert_eq!((curve.length_mm, curve.fit_deviation_mm), (9.0, 0.0));
}

#[test]
fn a_kink_of_a_spline_stays_a_corner() {
    // Two parabolas that meet at a right angle in (10, 10), with a knot of full multiplicity.
    let control = [
        [0.0, 0.0, 0.0],
        [0.0, 10.0, 0.0],
        [10.0, 10.0, 0.0],
        [10.0, 0.0, 0.0],
        [20.0, 0.0, 0.0],
    ];
    let curve =
        of_spline(spline(2, &[0.0, 0.0, 0.0, 1.0, 1.0, 2.0, 2.0, 2.0], &control)).expect("it can be drawn");
    let corners: Vec<_> = curve
        .polyline
        .segments()
        .zip(curve.polyline.segments().skip(1))
        .filter(|(one, next)| one.direction(1.0).turn_to(next.direction(0.0)).abs() > 1e-6)
        .collect();
    assert_eq!(corners.len(), 1);
    place(corners[0].0.to, 10.0, 10.0);
}

#[test]
fn a_periodic_spline_closes_without_a_seam() {
    let ring = [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]];
    let control: Vec<[f64; 3]> = (0..7)
        .map(|i| [10.0 * ring[i % 4][0], 10.0 * ring[i % 4][1], 0.0])
        .collect();
    let knots: Vec<f64> = (0..11).map(f64::from).collect();
    let mut shape = spline(3, &knots, &control);
    shape.flags = 3;
    let curve = of_spline(shape).expect("it can be drawn");
    assert!(curve.polyline.closed);
    let n = curve.polyline.segment_count();
    let seam = curve
        .polyline
        .segment(n - 1)
        .direction(1.0)
        .turn_to(curve.polyline.segment(0).direction(0.0));
    assert!(seam.abs() < 1e-9);
    assert!(curve.fit_deviation_mm <= FIT_MM);
}

/// Closed through four fit points on a circle: it comes back to its start without a corner, and by symmetry its middle
/// is that of the points.
#[test]
fn a_closed_spline_of_fit_points_closes() {
    for repeated in [false, true] {
        let mut shape = Spline {
            degree: 3,
            flags: 1,
            fit_points: vec![
                [5.0, 0.0, 0.0],
                [0.0, 5.0, 0.0],
                [-5.0, 0.0, 0.0],
                [0.0, -5.0, 0.0],
            ],
            ..Spline::default()
        };
        if repeated {
            shape.fit_points.push([5.0, 0.0, 0.0]);
        }
        let curve = of_spline(shape).expect("it can be drawn");
        assert!(curve.polyline.closed);
        let middle = curve.polyline.bounds().center();
        assert!(middle.distance(Point::new(0.0, 0.0)) < FIT_MM, "{middle:?}");
        // Larger than the square through the points, about the circle: 25π.
        let area = curve.polyline.area().abs();
        assert!((area - 25.0 * PI).abs() < 0.05 * 25.0 * PI, "{area}");
        let n = curve.polyline.segment_count();
        let seam = curve.polyline.segment(n - 1).direction(1.0);
        assert!(seam.turn_to(curve.polyline.segment(0).direction(0.0)).abs() < 1e-6);
    }
}

/// What needs more arcs than are accepted is known only when it is fitted, what has bad knots or lies too far away before.
#[test]
fn a_bad_curve_is_told_before_any_is_fitted() {
    let n = 40_000;
    let zigzag: Vec<[f64; 3]> = (0..n).map(|i| [f64::from(i), f64::from(i % 2), 0.0]).collect();
    let knots: Vec<f64> = (0..n + 4).map(f64::from).collect();
    let wild = || entity(Shape::Spline(Box::new(spline(3, &knots, &zigzag))));
    let after = |bad: Shape| {
        let mut entities = vec![wild(), entity(bad), entity(Shape::Spline(Box::default()))];
        for (i, entity) in entities.iter_mut().enumerate() {
            entity.line = 10 * i;
        }
        draw(&document(entities, vec![])).expect_err("the second and third cannot be drawn")
    };
    let refused = draw(&document(vec![wild()], vec![])).expect_err("too many arcs");
    assert!(matches!(refused, Error::Unfittable { line: 7, .. }), "{refused}");
    let bad = after(Shape::Spline(Box::new(spline(3, &[], &zigzag[..4]))));
    assert!(matches!(bad, Error::BadSpline { line: 10, .. }), "{bad}");
    let far = Ellipse {
        center: [1e14, 0.0, 0.0],
        major: [2.0, 0.0, 0.0],
        ratio: 0.5,
        start_rad: 0.0,
        end_rad: TAU,
    };
    let far = after(Shape::Ellipse(Box::new(far)));
    assert!(matches!(far, Error::TooFar { line: 10, .. }), "{far}");
}

#[test]
fn a_spline_that_makes_no_sense_stops_with_its_line() {
    let corners = [[0.0, 0.0, 0.0], [3.0, 4.0, 0.0], [3.0, 0.0, 0.0], [5.0, 0.0, 0.0]];
    let knots = [0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0];
    let good = spline(3, &knots, &corners);
    let bad = [
        (spline(3, &[], &corners), "0 knots"),
        (spline(3, &[0.0; 8], &corners), "no length"),
        (
            spline(3, &[0.0, 0.0, 0.0, 1.0, 0.5, 1.0, 1.0, 1.0], &corners),
            "fall from 1 to 0.5",
        ),
        (spline(3, &knots, &corners[..3]), "3 control points"),
        (spline(0, &knots, &corners), "degree is 0"),
        (spline(99, &knots, &corners), "degree is 99"),
        (spline(3, &[], &[]), "no control points"),
        (
            Spline {
                weights: vec![1.0; 3],
                ..good.clone()
            },
            "3 weights",
        ),
        (
            Spline {
                weights: vec![1.0, 0.0, 1.0, 1.0],
                ..good.clone()
            },
            "weights is 0",
        ),
        (
            Spline {
                weights: vec![1.0, 1e-12, 1.0, 1.0],
                ..good.clone()
            },
            "weights run",
        ),
        (spline(1, &[0.0, 0.0, 1.0, 1.0, 2.0, 2.0], &corners), "torn"),
    ];
    for (shape, reason) in bad {
        match of_spline(shape) {
            Err(Error::BadSpline {
                line: 7,
                reason: said,
            }) => assert!(said.contains(reason), "{said}"),
            other => panic!("{reason}: {other:?}"),
        }
    }
    assert!(of_spline(good).is_ok());
}

#[test]
fn a_hidden_spline_that_makes_no_sense_stops_nothing() {
    let mut hidden = entity(Shape::Spline(Box::new(spline(3, &[], &[[0.0; 3]; 4]))));
    hidden.invisible = true;
    let drawing = drawn(vec![hidden, circle(0.0, 0.0, 1.0)], vec![]);
    assert_eq!(drawing.curves.len(), 1);
    assert_eq!(drawing.ignored[0].reason, ignored::UNREADABLE);
}

#[test]
fn coordinates_beyond_all_sense_are_refused() {
    for far in [1e12, 1e300, f64::MAX] {
        let shapes = [
            line([0.0; 3], [far, 0.0, 0.0]),
            circle(far, 0.0, 1.0),
            circle(0.0, 0.0, far),
            entity(Shape::Ellipse(Box::new(Ellipse {
                center: [0.0; 3],
                major: [far, 0.0, 0.0],
                ratio: 0.5,
                start_rad: 0.0,
                end_rad: TAU,
            }))),
            entity(Shape::Spline(Box::new(spline(
                2,
                &[0.0, 0.0, 0.0, 1.0, 1.0, 1.0],
                &[[0.0; 3], [far, far, 0.0], [far, 0.0, 0.0]],
            )))),
        ];
        for shape in shapes {
            let name = format!("{:?}", shape.shape);
            let error = draw(&document(vec![shape], vec![]));
            assert!(
                matches!(error, Err(Error::TooFar { .. } | Error::Unfittable { .. })),
                "{name}: {error:?}"
            );
        }
    }
}
