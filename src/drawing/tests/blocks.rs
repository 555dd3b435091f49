//! Blocks: where they come to lie, what they hand on, and how much of them is too much.

use std::f64::consts::{PI, TAU};

use super::*;

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
fn a_few_lines_cannot_ask_for_millions_of_fitted_arcs() {
    let ellipse = entity(Shape::Ellipse(Box::new(Ellipse {
        center: [0.0; 3],
        major: [9e7, 0.0, 0.0],
        ratio: 0.1,
        start_rad: 0.0,
        end_rad: TAU,
    })));
    let field = Insert {
        columns: 100,
        rows: 100,
        ..insert("E")
    };
    let error = draw(&document(vec![placed(field)], vec![block("E", vec![ellipse])]));
    assert!(matches!(error, Err(Error::TooManyArcs { .. })), "{error:?}");
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

/// The frame of an INSERT seen from below has its x axis along -x (DXF reference, arbitrary axis algorithm): turned by a
/// quarter, what lies at 1, 0 in the block comes to 10, 6 in that frame, which is -10, 6.
#[test]
fn an_insert_seen_from_below_is_mirrored_after_it_is_turned() {
    let turned = Insert {
        at: [10.0, 5.0, 0.0],
        rotation_deg: 90.0,
        ..insert("HOLE")
    };
    let mut below = placed(turned);
    below.extrusion = [0.0, 0.0, -1.0];
    let drawing = drawn(vec![below], vec![block("HOLE", vec![circle(1.0, 0.0, 0.5)])]);
    place(drawing.curves[0].polyline.bounds().center(), -10.0, 6.0);
    close(drawing.curves[0].length_mm, PI);
}

#[test]
fn copies_turned_and_scaled_alike_are_one_curve_moved() {
    let row = Insert {
        columns: 4,
        column_spacing: 100.0,
        scale: [0.5, 1.0, 1.0],
        ..insert("E")
    };
    let other = Insert {
        at: [0.0, 300.0, 0.0],
        scale: [2.0, 1.0, 1.0],
        ..insert("E")
    };
    let block = block("E", vec![circle(3.0, 4.0, 20.0)]);
    let drawing = draw(&document(vec![placed(row), placed(other)], vec![block])).expect("it can be drawn");
    let [first, copies @ .., wide] = &drawing.curves[..] else {
        panic!("{} curves", drawing.curves.len());
    };
    assert_eq!(copies.len(), 3);
    for (i, copy) in copies.iter().enumerate() {
        let by = crate::geometry::Vector::new(100.0 * (i + 1) as f64, 0.0);
        assert!((copy.length_mm - first.length_mm).abs() < 1e-9);
        assert_eq!(copy.polyline.vertices.len(), first.polyline.vertices.len());
        for (a, b) in first.polyline.vertices.iter().zip(&copy.polyline.vertices) {
            assert!(
                (a.at + by).distance(b.at) < 1e-9 && (a.bulge - b.bulge).abs() < 1e-9,
                "{a:?} {b:?}"
            );
        }
    }
    // Another scale is another curve.
    let width = |curve: &Curve| curve.polyline.bounds().width();
    assert!((width(first) - 20.0).abs() < 1e-3 && (width(wide) - 80.0).abs() < 1e-3);
}
