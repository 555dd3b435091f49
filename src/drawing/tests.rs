//! Documents built by hand, for what no small file shows.

use std::f64::consts::{PI, TAU};

use super::*;
use crate::dxf::document::{
    Block, Ellipse, Entity, HeavyPolyline, HeavyVertex, Insert, Layer, LwPolyline, Mline, Shape, Spline,
};
use crate::tolerance::FIT_MM;
use crate::units::Unit;

fn layer(name: &str) -> Layer {
    Layer {
        name: name.to_owned(),
        color: 7,
        linetype: "Continuous".to_owned(),
        ..Layer::default()
    }
}

/// On layer `0`, all by layer.
fn entity(shape: Shape) -> Entity {
    Entity {
        shape,
        layer: 0,
        linetype: 0,
        color: 256,
        handle: 0x10,
        line: 7,
        paper_space: false,
        invisible: false,
        extrusion: [0.0, 0.0, 1.0],
    }
}

fn line(from: [f64; 3], to: [f64; 3]) -> Entity {
    entity(Shape::Line { from, to })
}

fn circle(x: f64, y: f64, radius: f64) -> Entity {
    entity(Shape::Circle {
        center: [x, y, 0.0],
        radius,
    })
}

fn insert(block: &str) -> Insert {
    Insert {
        block: block.to_owned(),
        at: [0.0; 3],
        scale: [1.0; 3],
        rotation_deg: 0.0,
        columns: 1,
        rows: 1,
        column_spacing: 0.0,
        row_spacing: 0.0,
    }
}

fn placed(insert: Insert) -> Entity {
    entity(Shape::Insert(Box::new(insert)))
}

fn block(name: &str, entities: Vec<Entity>) -> Block {
    Block {
        name: name.to_owned(),
        entities,
        ..Block::default()
    }
}

fn document(entities: Vec<Entity>, blocks: Vec<Block>) -> Document {
    Document {
        layers: vec![layer("0"), layer("A"), layer("B")],
        linetypes: vec!["ByLayer".to_owned(), "ByBlock".to_owned(), "CENTER".to_owned()],
        blocks,
        entities,
        ..Document::default()
    }
}

fn draw(document: &Document) -> Result<Drawing, Error> {
    from_document(document, &Reading::default())
}

fn drawn(entities: Vec<Entity>, blocks: Vec<Block>) -> Drawing {
    draw(&document(entities, blocks)).expect("it can be drawn")
}

fn close(value: f64, expected: f64) {
    assert!(
        (value - expected).abs() <= 1e-12 * expected.abs().max(1.0),
        "{value} is not {expected}"
    );
}

fn place(p: Point, x: f64, y: f64) {
    close(p.x, x);
    close(p.y, y);
}

#[test]
fn a_thousand_million_inserts_are_refused_at_once() {
    let bomb = Insert {
        columns: 1_000_000_000,
        rows: 1_000_000_000,
        ..insert("HOLE")
    };
    let error = draw(&document(
        vec![placed(bomb)],
        vec![block("HOLE", vec![circle(0.0, 0.0, 1.0)])],
    ));
    assert!(matches!(error, Err(Error::TooMuch { line: 7, .. })), "{error:?}");
}

#[test]
fn blocks_that_double_forty_times_are_refused_at_once() {
    let mut blocks = vec![block("0", vec![circle(0.0, 0.0, 1.0)])];
    for i in 1..40 {
        let inner = (i - 1).to_string();
        blocks.push(block(
            &i.to_string(),
            vec![placed(insert(&inner)), placed(insert(&inner))],
        ));
    }
    let error = draw(&document(vec![placed(insert("39"))], blocks));
    assert!(matches!(error, Err(Error::TooMuch { .. })), "{error:?}");
}

#[test]
fn a_nest_a_million_deep_is_refused_whichever_way_it_is_listed() {
    let depth = 1_000_000;
    let nest = |i: usize| block(&i.to_string(), vec![placed(insert(&(i + 1).to_string()))]);
    let mut blocks: Vec<Block> = (0..depth).map(nest).collect();
    blocks.push(block(&depth.to_string(), vec![circle(0.0, 0.0, 1.0)]));
    let error = draw(&document(vec![placed(insert("0"))], blocks));
    assert!(matches!(error, Err(Error::TooDeep { .. })), "{error:?}");
    // Each block is reached from model space before the one that inserts it.
    let mut blocks: Vec<Block> = (0..200).map(nest).collect();
    blocks.push(block("200", vec![circle(0.0, 0.0, 1.0)]));
    let from_inside = (0..=200).rev().map(|i: usize| placed(insert(&i.to_string())));
    let error = draw(&document(from_inside.collect(), blocks));
    assert!(matches!(error, Err(Error::TooDeep { .. })), "{error:?}");
}

#[test]
fn a_block_that_inserts_itself_is_named() {
    let blocks = vec![
        block("Outer", vec![placed(insert("inner"))]),
        block("INNER", vec![placed(insert("OUTER"))]),
    ];
    let error = draw(&document(vec![placed(insert("outer"))], blocks.clone()));
    assert_eq!(
        error.err(),
        Some(Error::CyclicBlock {
            line: 7,
            name: "Outer".to_owned()
        })
    );
    // Blocks that nothing inserts do no harm.
    assert!(draw(&document(vec![circle(0.0, 0.0, 1.0)], blocks)).is_ok());
}

#[test]
fn the_base_point_of_a_block_comes_to_lie_at_the_insertion_point() {
    let mut hole = block("HOLE", vec![circle(3.0, 4.0, 1.0)]);
    hole.base = [2.0, 4.0, 0.0];
    let turned = Insert {
        at: [10.0, 20.0, 0.0],
        scale: [2.0, 2.0, 1.0],
        rotation_deg: 90.0,
        ..insert("HOLE")
    };
    let drawing = drawn(vec![placed(turned)], vec![hole]);
    let bounds = drawing.curves[0].polyline.bounds();
    place(bounds.center(), 10.0, 22.0);
    close(bounds.width(), 4.0);
}

#[test]
fn nested_and_mirrored_blocks_keep_arcs_exact() {
    let quarter = entity(Shape::Arc {
        center: [0.0; 3],
        radius: 5.0,
        start_deg: 0.0,
        end_deg: 90.0,
    });
    let inner = Insert {
        scale: [-1.0, 1.0, 1.0],
        at: [1.0, 0.0, 0.0],
        ..insert("ARC")
    };
    let outer = Insert {
        scale: [3.0, 3.0, 1.0],
        ..insert("MIRROR")
    };
    let blocks = vec![block("ARC", vec![quarter]), block("MIRROR", vec![placed(inner)])];
    let drawing = drawn(vec![placed(outer)], blocks);
    let curve = &drawing.curves[0];
    close(curve.length_mm, 7.5 * PI);
    assert_eq!(curve.fit_deviation_mm, 0.0);
    let segment = curve.polyline.segment(0);
    place(segment.from, -12.0, 0.0);
    place(segment.to, 3.0, 15.0);
    assert!(segment.bulge < 0.0, "mirrored once, it runs clockwise");
}

#[test]
fn unequal_scales_that_undo_each_other_leave_a_circle() {
    let squeeze = Insert {
        scale: [0.5, 1.0, 1.0],
        ..insert("HOLE")
    };
    let stretch = Insert {
        scale: [2.0, 1.0, 1.0],
        ..insert("SQUEEZED")
    };
    let blocks = vec![
        block("HOLE", vec![circle(1.0, 1.0, 4.0)]),
        block("SQUEEZED", vec![placed(squeeze)]),
    ];
    let drawing = drawn(vec![placed(stretch)], blocks);
    close(drawing.curves[0].polyline.area().abs(), 16.0 * PI);
    assert_eq!(drawing.curves[0].fit_deviation_mm, 0.0);
}

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
fn properties_by_block_and_by_layer_are_inherited() {
    let mut by_layer = circle(0.0, 0.0, 1.0);
    let mut by_block = circle(5.0, 0.0, 1.0);
    (by_block.color, by_block.linetype) = (0, 1);
    let mut own = circle(9.0, 0.0, 1.0);
    (own.layer, own.color, own.linetype) = (2, 3, 2);
    by_layer.handle = 0x20;
    let mut outer = placed(insert("PART"));
    (outer.layer, outer.color, outer.linetype, outer.handle) = (1, 5, 2, 0x99);
    let mut document = document(vec![outer], vec![block("PART", vec![by_layer, by_block, own])]);
    document.layers[1].color = 30;
    document.layers[1].linetype = "HIDDEN".to_owned();
    let drawing = draw(&document).expect("it can be drawn");
    let of = |i: usize| {
        let origin = drawing.curves[i].origin;
        let linetype = drawing.linetypes[origin.linetype as usize].as_str();
        (origin.layer, origin.color, linetype)
    };
    assert_eq!(
        of(0),
        (1, 30, "HIDDEN"),
        "layer 0 takes the INSERT's layer, and that layer's colour and linetype"
    );
    assert_eq!(of(1), (1, 5, "CENTER"));
    assert_eq!(of(2), (2, 3, "CENTER"));
    assert_eq!(drawing.curves[0].origin.handle, 0x20);
    assert!(
        drawing
            .curves
            .iter()
            .all(|curve| curve.origin.insert_handle == 0x99)
    );
}

#[test]
fn a_frozen_insert_hides_all_of_its_block() {
    let mut elsewhere = circle(0.0, 0.0, 1.0);
    elsewhere.layer = 2;
    let mut outer = placed(insert("PART"));
    outer.layer = 1;
    let mut document = document(vec![outer], vec![block("PART", vec![elsewhere])]);
    document.layers[1].frozen = true;
    let drawing = draw(&document).expect("it can be drawn");
    assert!(drawing.curves.is_empty());
    assert_eq!(drawing.facts.len(), 1);
    assert_eq!(drawing.facts[0].kind, CurveFactKind::Hidden(TAU));
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
