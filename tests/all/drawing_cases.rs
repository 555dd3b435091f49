//! Drawings made of the hand-written cases in `fixtures/cases`: lengths, areas and places as the entities say them,
//! in closed form.

use std::f64::consts::PI;

use kerfwright::drawing::{self, CurveFactKind, Drawing, UnitsSource, from_document};
use kerfwright::dxf;
use kerfwright::finding::{Finding, Severity};
use kerfwright::geometry::{Bounds, Point};
use kerfwright::job::Reading;
use kerfwright::plan::Planner;
use kerfwright::units::unit_named;

use crate::common::{book, fixture_bytes};

fn bytes(name: &str) -> Vec<u8> {
    fixture_bytes(format!("cases/{name}.dxf"))
}

fn try_case(name: &str, reading: &Reading) -> Result<Drawing, drawing::Error> {
    let document = dxf::read(&bytes(name)).expect("the reader takes this case");
    from_document(&document, reading)
}

/// What `inspect` tells of this case, or why it refuses it.
fn inspect(name: &str) -> Result<Vec<Finding>, String> {
    let inspection = Planner::new(book()).inspect(name, bytes(name));
    inspection
        .map(|inspection| inspection.findings)
        .map_err(|error| error.to_string())
}

/// Asserts that `inspect` tells `message` of this case, at this severity.
fn told(name: &str, check: &str, severity: Severity, message: &str) {
    let findings = inspect(name).unwrap_or_else(|error| panic!("{name}: {error}"));
    let found = findings.iter().find(|finding| finding.name == check);
    let found = found.unwrap_or_else(|| panic!("{name}: {check} keeps silent: {findings:?}"));
    assert_eq!((found.severity, &*found.message), (severity, message), "{name}");
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
    let findings = inspect("t08_layer_off_frozen").expect("it can be inspected");
    let hidden = findings
        .iter()
        .filter(|finding| finding.name == "hidden-geometry");
    let hidden: Vec<_> = hidden.map(|finding| &*finding.message).collect();
    assert_eq!(
        hidden,
        [
            "1 curve (2.000 mm) on layer “OFF”, which is off, is left out",
            "1 curve (4.000 mm) on layer “FRZ”, which is frozen, is left out"
        ]
    );
}

#[test]
fn t09_and_t10_an_arc_seen_from_below_is_mirrored() {
    for name in ["t09_arc_mirror", "t10_arc_mirror_tiny"] {
        let drawing = case(name);
        close(length(&drawing), 2.5 * PI);
        close(bounds(&drawing).min.x, -15.0);
        close(bounds(&drawing).max.x, -10.0);
        close(bounds(&drawing).min.y, 0.0);
        close(bounds(&drawing).max.y, 5.0);
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
    // Columns 10 apart, rows 20, in the turned frame: spacings are not scaled.
    let (sin, cos) = (PI / 6.0).sin_cos();
    for (column, row) in (0..3).flat_map(|column| (0..2).map(move |row| (column, row))) {
        let (x, y) = (10.0 * f64::from(column), 20.0 * f64::from(row));
        let at = Point::new(x * cos - y * sin, x * sin + y * cos);
        let mut centers = drawing
            .curves
            .iter()
            .map(|curve| curve.polyline.bounds().center());
        assert!(centers.any(|center| center.distance(at) < 1e-9), "none at {at:?}");
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
    let whole = String::from_utf8(bytes("t13_insert_scale0_missing")).expect("ASCII");
    let insert = "2\nB\n10\n0\n20\n0\n0\nENDSEC";
    assert_eq!(whole.matches(insert).count(), 1);
    for z_scale in ["", "43\n0\n", "43\n0.0\n41\n1\n42\n1\n"] {
        let text = whole.replace(insert, &format!("2\nB\n10\n0\n20\n0\n{z_scale}0\nENDSEC"));
        let document = dxf::read(text.as_bytes()).expect("it can be read");
        let drawing = from_document(&document, &Reading::default()).expect("it can be drawn");
        assert!(drawing.facts.is_empty(), "{:?}", drawing.facts);
        assert_eq!(drawing.curves.len(), 1, "{z_scale:?}");
        close(drawing.curves[0].polyline.area(), PI);
    }
}

#[test]
fn t14_blocks_that_insert_each_other_stop_the_reading() {
    let error = try_case("t14_cyclic_block", &Reading::default()).expect_err("it cannot be drawn");
    assert!(matches!(error, drawing::Error::CyclicBlock { .. }), "{error}");
    let refused = inspect("t14_cyclic_block").expect_err("it cannot be inspected");
    assert!(refused.contains(&error.to_string()), "{refused}");
}

#[test]
fn t15_a_missing_bulge_is_zero() {
    let drawing = case("t15_lw_no_bulge_some");
    close(drawing.curves[0].polyline.area().abs(), 23.141_592_653_589_793);
}

#[test]
fn t16_the_vertices_count_and_not_their_number_and_that_is_told() {
    let drawing = case("t16_lw_count_wrong");
    close(length(&drawing), 20.0 + 200f64.sqrt());
    assert!(drawing.curves[0].polyline.closed);
    told(
        "t16_lw_count_wrong",
        "count-differs",
        Severity::Warning,
        "line 20: LWPOLYLINE vertices: 99 declared, 3 found; those that are there were read",
    );
}

#[test]
fn t17_paper_space_and_t18_invisible_entities_are_left_out() {
    for name in ["t17_paperspace67", "t18_invisible60"] {
        let drawing = case(name);
        close(length(&drawing), 1.0);
        assert_eq!(ignored(&drawing, "LINE"), 1, "{name}");
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
        let p = Point::new(x, y);
        let nearest = line
            .segments()
            .map(|s| s.distance(p))
            .fold(f64::INFINITY, f64::min);
        assert!(nearest <= 0.5e-3, "{nearest}");
    }
    // No shorter than the chords.
    assert!(drawing.curves[0].length_mm > 3.0 * 125f64.sqrt());
    let findings = inspect("t21_fit_spline").expect("it can be inspected");
    assert!(findings.iter().any(|finding| finding.name == "spline-guessed"));
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
    for name in ["t23_units_code_garbage", "t24_no_header_units"] {
        let findings = inspect(name).expect("it can be inspected");
        let units: Vec<_> = findings
            .iter()
            .filter(|finding| finding.name == "units-missing")
            .collect();
        assert_eq!(units.len(), 1, "{name}");
        assert!(units[0].message.contains("mm"), "{}", units[0].message);
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
    let findings = inspect("t26_neg_radius_zero").expect("it can be inspected");
    assert!(findings.iter().any(|finding| finding.name == "zero-length-curve"));
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
    assert!(drawing.facts.is_empty());
    assert_eq!(drawing.curves.len(), 1);
    close(drawing.curves[0].polyline.area(), PI);
}

#[test]
fn t31_a_new_entity_in_an_old_version_without_markers_is_measured() {
    let drawing = case("t31_lw_no_subclass_r12");
    close(length(&drawing), 20.0 + 200f64.sqrt());
    close(drawing.curves[0].polyline.area().abs(), 50.0);
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

/// Whatever cannot be read is refused with its line by the command too: no total leaves it out.
#[test]
fn what_cannot_be_read_gives_an_error_with_its_line_and_no_total() {
    for (name, line) in [
        ("t06_decimal_comma", Some(28)),
        ("t27_nan", Some(24)),
        ("t40_cut_in_entity", None),
        ("t41_cut_in_tag", None),
        ("t50_bad_float_last_pair", Some(30)),
        ("t51_bad_float_circle_radius", Some(28)),
        ("t52_bad_bulge_last", Some(42)),
        ("t53_empty_value", Some(28)),
        ("t54_bad_float_last_entity", Some(40)),
        ("t55_bad_bulge_last_entity", Some(42)),
    ] {
        let error = inspect(name).expect_err("it cannot be read");
        let line = line.map_or("line ".to_owned(), |line| format!("line {line}: "));
        assert!(error.contains(&line), "{name}: {error}");
    }
    let error = inspect("t46_empty").expect_err("there is nothing to read");
    assert!(error.contains("the file is empty"), "{error}");
}

#[test]
fn files_that_are_odd_but_whole_are_measured_without_a_word() {
    for name in [
        "t30_comment999",
        "t42_cr_only",
        "t43_bom",
        "t45_leading_blank",
        "t47_ctrlz_trailing",
    ] {
        close(length(&case(name)), if name == "t43_bom" { 10.0 } else { 3.0 });
        let findings = inspect(name).expect("it can be inspected");
        // The line of these cases is an open one.
        let other = findings
            .iter()
            .find(|finding| !["open-contour", "nothing-to-cut"].contains(&finding.name));
        assert!(other.is_none(), "{name}: {other:?}");
    }
    close(length(&case("t44_no_eof")), 3.0);
    let findings = inspect("t44_no_eof").expect("it can be inspected");
    assert!(findings.iter().any(|finding| finding.name == "file-end-missing"));
}
