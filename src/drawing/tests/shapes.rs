//! Single entities: lengths in closed form, ends, heights, units.

use std::f64::consts::{PI, TAU};

use super::*;

#[test]
fn stretched_bulges_become_arcs_of_ellipses() {
    // A stadium whose half circles become halves of an ellipse with half axes 2 and 3.
    let stadium = entity(Shape::LwPolyline(Box::new(LwPolyline {
        vertices: vec![
            [0.0, 0.0, 0.0],
            [10.0, 0.0, 1.0],
            [10.0, 4.0, 0.0],
            [0.0, 4.0, 1.0],
        ],
        closed: true,
        ..LwPolyline::default()
    })));
    let stretched = Insert {
        scale: [1.5, 1.0, 1.0],
        ..insert("S")
    };
    let drawing = drawn(vec![placed(stretched)], vec![block("S", vec![stadium])]);
    let curve = &drawing.curves[0];
    assert!(curve.polyline.closed && curve.fit_deviation_mm > 0.0 && curve.fit_deviation_mm <= FIT_MM);
    let area = 15.0 * 4.0 + PI * 2.0 * 3.0;
    assert!((curve.polyline.area() - area).abs() < FIT_MM * curve.length_mm);
    // Perimeter of an ellipse, Ramanujan's second formula, good to 1e-9 at this shape: S. Ramanujan, "Modular equations
    // and approximations to π", Quart. J. Math. 45 (1914) 350–372.
    let h = (1.0f64 / 5.0).powi(2);
    let perimeter = PI * 5.0 * (1.0 + 3.0 * h / (10.0 + (4.0 - 3.0 * h).sqrt()));
    assert!((curve.length_mm - 30.0 - perimeter).abs() < 1e-9);
    // Tangent everywhere, also where lines meet the ellipse.
    for (i, segment) in curve.polyline.segments().enumerate() {
        let next = curve.polyline.segment((i + 1) % curve.polyline.segment_count());
        assert!(segment.direction(1.0).turn_to(next.direction(0.0)).abs() < 1e-7);
    }
}

#[test]
fn what_climbs_is_left_out_and_what_lies_high_is_not() {
    let frame = HeavyPolyline {
        flags: 8 | 1,
        vertices: [[0.0, 0.0, 5.0], [4.0, 0.0, 5.0], [4.0, 3.0, 5.0]]
            .map(|at| HeavyVertex {
                at,
                ..HeavyVertex::default()
            })
            .to_vec(),
        ..HeavyPolyline::default()
    };
    let mut upright = circle(0.0, 0.0, 1.0);
    upright.extrusion = [1.0, 0.0, 0.0];
    let drawing = drawn(
        vec![
            line([0.0, 0.0, 5.0], [3.0, 4.0, 5.0]),
            line([0.0, 0.0, 0.0], [3.0, 4.0, 5.0]),
            entity(Shape::Polyline(Box::new(frame))),
            upright,
        ],
        vec![],
    );
    let lengths: Vec<f64> = drawing.curves.iter().map(|curve| curve.length_mm).collect();
    assert_eq!(lengths, [5.0, 12.0]);
    let rises: Vec<_> = drawing.facts.iter().map(|fact| fact.kind.clone()).collect();
    assert_eq!(rises, [CurveFactKind::NotFlat(5.0), CurveFactKind::NotFlat(2.0)]);
}

#[test]
fn mlines_are_as_many_lines_as_they_have_elements() {
    let shape = Mline {
        vertices: vec![
            vec![[0.0, 1.0, 0.0], [0.0, -1.0, 0.0]],
            vec![[10.0, 1.0, 0.0], [10.0, -1.0, 0.0]],
        ],
        ..Mline::default()
    };
    let drawing = drawn(vec![entity(Shape::Mline(Box::new(shape)))], vec![]);
    assert_eq!(drawing.curves.len(), 2);
    assert!(
        drawing
            .curves
            .iter()
            .all(|curve| (curve.length_mm - 10.0).abs() < 1e-12)
    );
}

#[test]
fn ellipses_and_their_parts_are_measured_as_drawn() {
    let ellipse = |ratio: f64, start_rad: f64, end_rad: f64| {
        entity(Shape::Ellipse(Box::new(Ellipse {
            center: [1.0, 2.0, 0.0],
            major: [6.0, 8.0, 0.0],
            ratio,
            start_rad,
            end_rad,
        })))
    };
    // Half axes 10 and 5: perimeter 48.44224110273838 (Abramowitz & Stegun, 17.3: 4·a·E(3/4)).
    let perimeter = 48.442_241_102_738_38;
    for (start, end, part) in [
        (0.0, TAU, 1.0),
        (0.0, PI, 0.5),
        (1.5 * PI, 0.5 * PI, 0.5),
        (PI / 2.0, PI, 0.25),
    ] {
        let drawing = drawn(vec![ellipse(0.5, start, end)], vec![]);
        let curve = &drawing.curves[0];
        assert!((curve.length_mm - perimeter * part).abs() < 1e-11);
        assert_eq!(curve.polyline.closed, part == 1.0);
        assert!(curve.fit_deviation_mm <= FIT_MM);
        assert!((curve.polyline.length() - curve.length_mm).abs() < FIT_MM);
    }
    // As round as a circle, it is one; without width, it is nothing.
    let round = drawn(vec![ellipse(1.0, 0.0, TAU)], vec![]);
    close(round.curves[0].polyline.area(), 100.0 * PI);
    let flat = drawn(vec![ellipse(0.0, 0.0, TAU)], vec![]);
    assert_eq!(flat.facts[0].kind, CurveFactKind::ZeroLength);
}

#[test]
fn long_arcs_and_bulges_are_divided_at_half_turns() {
    let long = entity(Shape::Arc {
        center: [0.0; 3],
        radius: 2.0,
        start_deg: 10.0,
        end_deg: 350.0,
    });
    // A bulge of 3 sweeps 4·atan 3 on a radius of chord·(1 + 9)/12.
    let bulged = entity(Shape::LwPolyline(Box::new(LwPolyline {
        vertices: vec![[0.0, 0.0, 3.0], [6.0, 0.0, 0.0]],
        ..LwPolyline::default()
    })));
    let drawing = drawn(vec![long, bulged], vec![]);
    close(drawing.curves[0].length_mm, 340.0f64.to_radians() * 2.0);
    close(drawing.curves[1].length_mm, 4.0 * 3f64.atan() * 5.0);
    for curve in &drawing.curves {
        assert!(curve.polyline.segments().all(|s| s.bulge.abs() <= 1.0));
        close(curve.polyline.length(), curve.length_mm);
    }
}

#[test]
fn a_closed_polyline_that_repeats_its_first_vertex_has_no_empty_piece() {
    let line = LwPolyline {
        vertices: vec![
            [0.0, 0.0, 0.0],
            [4.0, 0.0, 0.0],
            [4.0, 3.0, 0.0],
            [4.0, 3.0, 0.5],
            [0.0, 0.0, 0.0],
        ],
        closed: true,
        ..LwPolyline::default()
    };
    let mut open = line.clone();
    open.closed = false;
    for line in [line, open] {
        let drawing = drawn(vec![entity(Shape::LwPolyline(Box::new(line)))], vec![]);
        let polyline = &drawing.curves[0].polyline;
        assert!(polyline.closed, "it comes back to its start");
        assert_eq!(polyline.segment_count(), 3);
        close(polyline.vertices[2].bulge, 0.5);
    }
}

#[test]
fn units_follow_option_then_drawing_then_hint_then_millimetres() {
    let read = |insunits, measurement, asked: Option<Unit>| {
        let mut document = document(vec![line([0.0; 3], [1.0, 0.0, 0.0])], vec![]);
        document.header.insunits = insunits;
        document.header.measurement = measurement;
        let reading = Reading {
            units: asked,
            ..Reading::default()
        };
        let drawing = from_document(&document, &reading).expect("it can be drawn");
        (drawing.units.source, drawing.curves[0].length_mm)
    };
    assert_eq!(read(Some(1), Some(1), Some(Unit::MM)), (UnitsSource::Option, 1.0));
    assert_eq!(read(Some(1), Some(1), None), (UnitsSource::Drawing, 25.4));
    assert_eq!(read(Some(0), Some(0), None), (UnitsSource::Measurement, 25.4));
    assert_eq!(read(Some(99), Some(1), None), (UnitsSource::Measurement, 1.0));
    assert_eq!(read(None, None, None), (UnitsSource::Assumed, 1.0));
    assert_eq!(read(Some(0), Some(7), None), (UnitsSource::Assumed, 1.0));
}

#[test]
fn a_tolerance_that_is_none_is_refused() {
    for fit_mm in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let reading = Reading {
            fit_mm,
            ..Reading::default()
        };
        let error = from_document(&Document::default(), &reading);
        assert!(matches!(error, Err(Error::Fit { .. })));
    }
}

/// Seen from below, x runs the other way (DXF reference, arbitrary axis algorithm): -3 to -1, and the half circle, that
/// lay right of its chord, still lies below it and runs clockwise.
#[test]
fn polylines_seen_from_below_are_mirrored() {
    let vertices = [[1.0, 0.0, 1.0], [3.0, 0.0, 0.0]];
    let light = LwPolyline {
        vertices: vertices.to_vec(),
        ..LwPolyline::default()
    };
    let heavy = HeavyPolyline {
        vertices: vertices
            .map(|[x, y, bulge]| HeavyVertex {
                at: [x, y, 0.0],
                bulge,
                ..HeavyVertex::default()
            })
            .to_vec(),
        ..HeavyPolyline::default()
    };
    for shape in [
        Shape::LwPolyline(Box::new(light)),
        Shape::Polyline(Box::new(heavy)),
    ] {
        let mut below = entity(shape);
        below.extrusion = [0.0, 0.0, -1.0];
        let drawing = drawn(vec![below], vec![]);
        let curve = &drawing.curves[0];
        close(curve.length_mm, PI);
        let segment = curve.polyline.segment(0);
        place(segment.from, -1.0, 0.0);
        place(segment.to, -3.0, 0.0);
        close(segment.bulge, -1.0);
        close(curve.polyline.bounds().min.y, -1.0);
    }
}

/// Curve fitting adds vertices (flag 1) and gives each a bulge: all of them are drawn (DXF reference, VERTEX).
#[test]
fn a_curve_fit_polyline_is_drawn_through_all_its_vertices() {
    // A half circle of radius 5 in two quarters: the vertex between them was added.
    let quarter = 2f64.sqrt() - 1.0;
    let vertex = |x: f64, y: f64, flags: i32, bulge: f64| HeavyVertex {
        at: [x, y, 0.0],
        bulge,
        flags,
    };
    let line = HeavyPolyline {
        flags: 2,
        vertices: vec![
            vertex(5.0, 0.0, 0, quarter),
            vertex(0.0, 5.0, 1, quarter),
            vertex(-5.0, 0.0, 2, 0.0),
        ],
        ..HeavyPolyline::default()
    };
    let drawing = drawn(vec![entity(Shape::Polyline(Box::new(line)))], vec![]);
    close(drawing.curves[0].length_mm, 5.0 * PI);
    assert_eq!(drawing.curves[0].polyline.segment_count(), 2);
}

#[test]
fn a_closed_mline_is_a_loop_an_element() {
    let corner = |x: f64, y: f64| vec![[x, y, 0.0], [0.5 * x, 0.5 * y, 0.0]];
    let shape = Mline {
        vertices: vec![
            corner(2.0, 2.0),
            corner(-2.0, 2.0),
            corner(-2.0, -2.0),
            corner(2.0, -2.0),
        ],
        closed: true,
        ..Mline::default()
    };
    let drawing = drawn(vec![entity(Shape::Mline(Box::new(shape)))], vec![]);
    let areas: Vec<f64> = drawing.curves.iter().map(|curve| curve.polyline.area()).collect();
    assert_eq!(areas, [16.0, 4.0]);
    assert!(drawing.curves.iter().all(|curve| curve.polyline.closed));
}
