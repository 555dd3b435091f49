//! Drawings made of the hand-written cases in `fixtures/cases`: lengths, areas and places as the entities say them,
//! in closed form.

use std::f64::consts::PI;
use std::fs;

use kerfwright::drawing::{self, CurveFactKind, Drawing, UnitsSource, from_document};
use kerfwright::dxf;
use kerfwright::geometry::Bounds;
use kerfwright::job::Reading;
use kerfwright::units::unit_named;

fn try_case(name: &str, reading: &Reading) -> Result<Drawing, drawing::Error> {
    let path = format!("{}/fixtures/cases/{name}.dxf", env!("CARGO_MANIFEST_DIR"));
    let bytes = fs::read(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    from_document(&dxf::read(&bytes).expect("the reader takes this case"), reading)
}

fn case(name: &str) -> Drawing {
    try_case(name, &Reading::default()).expect("this case can be drawn")
}

fn length(drawing: &Drawing) -> f64 {
    drawing.curves.iter().map(|curve| curve.length_mm).sum()
}

fn bounds(drawing: &Drawing) -> Bounds {
    let each = drawing.curves.iter().map(|curve| curve.polyline.bounds());
    each.fold(Bounds::EMPTY, Bounds::union)
}

fn close(value: f64, expected: f64) {
    assert!((value - expected).abs() < 1e-9, "{value} is not {expected}");
}

fn ignored(drawing: &Drawing, kind: &str) -> usize {
    let rows = drawing.ignored.iter().filter(|row| row.kind == kind);
    rows.map(|row| row.count).sum()
}

#[test]
fn t08_layers_off_and_frozen_are_left_out_and_told() {
    let drawing = case("t08_layer_off_frozen");
    close(length(&drawing), 1.0);
    assert_eq!(ignored(&drawing, "LINE"), 2);
    let hidden: Vec<_> = drawing.facts.iter().map(|fact| fact.kind.clone()).collect();
    assert_eq!(hidden, [CurveFactKind::Hidden(2.0), CurveFactKind::Hidden(4.0)]);
}

#[test]
fn t09_and_t10_an_arc_seen_from_below_is_mirrored() {
    for name in ["t09_arc_mirror", "t10_arc_mirror_tiny"] {
        let drawing = case(name);
        close(length(&drawing), 2.5 * PI);
        close(bounds(&drawing).min.x, -15.0);
        close(bounds(&drawing).max.x, -10.0);
    }
}

#[test]
fn t11_an_array_is_turned_and_scaled() {
    let drawing = case("t11_insert_array");
    assert_eq!(drawing.curves.len(), 6);
    for curve in &drawing.curves {
        close(curve.polyline.area(), 4.0 * PI);
        assert_eq!(curve.fit_deviation_mm, 0.0);
    }
}

#[test]
fn t12_a_half_stretched_circle_is_an_ellipse() {
    let drawing = case("t12_insert_nonuniform");
    // Half axes 2 and 1: the area is 2π; an arc-exact area lies within the fit along the perimeter.
    let loops: Vec<_> = drawing
        .curves
        .iter()
        .filter(|curve| curve.polyline.closed)
        .collect();
    assert_eq!(loops.len(), 1);
    let area = loops[0].polyline.area().abs();
    assert!((area - 2.0 * PI).abs() < 0.5e-3 * loops[0].length_mm, "{area}");
    assert!(drawing.fit_deviation_mm > 0.0 && drawing.fit_deviation_mm <= 0.5e-3);
    // Perimeter of an ellipse 2 × 1: 8·E(3/4), E(3/4) = 1.2110560275684595 (complete
    // elliptic integral, Abramowitz & Stegun 17.3; digits from the general-purpose library mpmath); and a quarter of it for the stretched quarter circle.
    close(length(&drawing), 10.0 * 1.211_056_027_568_459_5);
}

#[test]
fn t13_a_scale_of_z_that_is_missing_or_zero_is_one() {
    let drawing = case("t13_insert_scale0_missing");
    assert!(!drawing.curves.is_empty());
    assert!(drawing.facts.is_empty(), "{:?}", drawing.facts);
}

#[test]
fn t14_blocks_that_insert_each_other_stop_the_reading() {
    let error = try_case("t14_cyclic_block", &Reading::default()).expect_err("it cannot be drawn");
    assert!(matches!(error, drawing::Error::CyclicBlock { .. }), "{error}");
}

#[test]
fn t15_a_missing_bulge_is_zero() {
    let drawing = case("t15_lw_no_bulge_some");
    close(drawing.curves[0].polyline.area().abs(), 23.141_592_653_589_793);
}

#[test]
fn t17_paper_space_and_t18_invisible_entities_are_left_out() {
    for name in ["t17_paperspace67", "t18_invisible60"] {
        let drawing = case(name);
        assert!(
            drawing.ignored.iter().map(|row| row.count).sum::<usize>() > 0,
            "{name}"
        );
        assert!(drawing.ignored.iter().all(|row| row.first_line > 0), "{name}");
    }
}

#[test]
fn t21_a_spline_of_fit_points_is_drawn_through_them_and_told() {
    let drawing = case("t21_fit_spline");
    assert_eq!(drawing.facts.len(), 1);
    assert_eq!(drawing.facts[0].kind, CurveFactKind::FitPointsOnly);
    let line = &drawing.curves[0].polyline;
    for (x, y) in [(0.0, 0.0), (10.0, 5.0), (20.0, 0.0), (30.0, 5.0)] {
        let p = kerfwright::geometry::Point::new(x, y);
        let nearest = line
            .segments()
            .map(|s| s.distance(p))
            .fold(f64::INFINITY, f64::min);
        assert!(nearest <= 0.5e-3, "{nearest}");
    }
    // No shorter than the chords.
    assert!(drawing.curves[0].length_mm > 3.0 * 125f64.sqrt());
}

#[test]
fn t22_a_rational_circle_is_a_circle() {
    let drawing = case("t22_rational_circle");
    let circle = &drawing.curves[0];
    assert!(circle.polyline.closed);
    close(circle.polyline.area().abs(), PI);
    close(circle.length_mm, 2.0 * PI);
    assert_eq!(circle.fit_deviation_mm, 0.0);
}

#[test]
fn t23_and_t24_units_that_are_not_said_are_assumed_visibly() {
    for name in ["t23_units_code_garbage", "t24_no_header_units"] {
        assert_ne!(case(name).units.source, UnitsSource::Drawing, "{name}");
    }
    let inches = Reading {
        units: unit_named("inch"),
        ..Reading::default()
    };
    let (told, read) = (
        try_case("t24_no_header_units", &inches),
        case("t24_no_header_units"),
    );
    let told = told.expect("it can be drawn in inches");
    assert_eq!(told.units.source, UnitsSource::Option);
    close(length(&told), 25.4 * length(&read) / read.units.factor_to_mm);
}

#[test]
fn t25_control_points_of_a_spline_fit_are_not_drawn() {
    close(length(&case("t25_polyline_splinefit")), 13.902_979_252_135_078);
}

#[test]
fn t26_a_circle_of_radius_zero_is_left_out_and_told() {
    let drawing = case("t26_neg_radius_zero");
    close(length(&drawing), 1.0);
    assert_eq!(drawing.facts.len(), 1);
    assert_eq!(drawing.facts[0].kind, CurveFactKind::ZeroLength);
    assert_eq!(ignored(&drawing, "CIRCLE"), 1);
}

#[test]
fn t28_an_ellipse_seen_from_below_runs_the_other_way() {
    let drawing = case("t28_ellipse_mirror");
    assert!(bounds(&drawing).max.y < 1e-3, "{:?}", bounds(&drawing));
    // Half of an ellipse 5 × 2.5 (or any of ratio 1/2): 2·a·E(3/4), as in t12.
    close(length(&drawing), 10.0 * 1.211_056_027_568_459_5);
}

#[test]
fn t29_block_names_ignore_case() {
    let drawing = case("t29_blockname_case");
    assert!(!drawing.curves.is_empty() && drawing.facts.is_empty());
}

#[test]
fn t32_an_insert_on_a_layer_that_is_off_hides_only_layer_zero_of_its_block() {
    let drawing = case("t32_byblock_off");
    close(length(&drawing), 4.0 * PI);
    assert_eq!(drawing.layers[drawing.curves[0].origin.layer as usize].name, "P");
    assert_eq!(drawing.facts.len(), 1);
    assert!(matches!(drawing.facts[0].kind, CurveFactKind::Hidden(l) if (l - 2.0 * PI).abs() < 1e-12));
}

#[test]
fn t33_angles_beyond_a_turn_are_taken_once_round_at_most() {
    close(length(&case("t33_arc_negative_angles")), 31.415_926_535_897_93);
}
