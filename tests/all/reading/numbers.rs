//! A number that cannot be read stops the reading, with its line, group code and entity.

use kerfwright::dxf::Error;
use kerfwright::dxf::document::Shape;

use super::{case_error, drawing, drawing_error, only};

/// Asserts that a case fails at this line, code, entity and text.
fn assert_number_error(name: &str, expected: (usize, i32, &str, &str)) {
    let Error::Number {
        line,
        code,
        entity,
        text,
        ..
    } = case_error(name)
    else {
        panic!("{name}: a number error was expected");
    };
    assert_eq!((line, code, entity.as_str(), text.as_str()), expected, "{name}");
}

#[test]
fn t06_t50_to_t55_malformed_numbers() {
    assert_number_error("t06_decimal_comma.dxf", (28, 11, "LINE", "10,5"));
    assert_number_error("t50_bad_float_last_pair.dxf", (30, 21, "LINE", "5,5"));
    assert_number_error("t51_bad_float_circle_radius.dxf", (28, 40, "CIRCLE", "2,5"));
    assert_number_error("t52_bad_bulge_last.dxf", (42, 42, "LWPOLYLINE", "1,0"));
    assert_number_error("t53_empty_value.dxf", (28, 40, "CIRCLE", ""));
    assert_number_error("t54_bad_float_last_entity.dxf", (40, 40, "CIRCLE", "2,5"));
    assert_number_error("t55_bad_bulge_last_entity.dxf", (42, 42, "LWPOLYLINE", "1,0"));
}

#[test]
fn t27_nan() {
    assert_number_error("t27_nan.dxf", (24, 10, "LINE", "nan"));
    let message = case_error("t27_nan.dxf").to_string();
    assert_eq!(
        message,
        "line 24: group 10 of LINE holds `nan`, which is not a finite number"
    );
}

/// Entities with every group of theirs that is used, as code and value in turn.
const USED: &[(&str, &str)] = &[
    (
        "LINE",
        "10 1 20 1 30 1 11 1 21 1 31 1 60 0 62 1 67 0 210 0 220 0 230 1",
    ),
    ("ARC", "10 1 20 1 30 1 40 1 50 1 51 1"),
    ("CIRCLE", "10 1 20 1 30 1 40 1"),
    ("ELLIPSE", "10 1 20 1 30 1 11 1 21 1 31 1 40 1 41 1 42 1"),
    ("POINT", "10 1 20 1 30 1"),
    ("LWPOLYLINE", "90 1 70 1 38 1 10 1 20 1 42 1"),
    (
        "POLYLINE",
        "66 1 70 1 30 1 0 VERTEX 10 1 20 1 30 1 42 1 70 1 0 SEQEND",
    ),
    (
        "SPLINE",
        "70 1 71 1 72 1 73 1 74 1 40 1 10 1 20 1 30 1 41 1 11 1 21 1 31 1 12 1 22 1 32 1 13 1 23 1 33 1",
    ),
    (
        "INSERT",
        "2 B 10 1 20 1 30 1 41 1 42 1 43 1 44 1 45 1 50 1 70 1 71 1",
    ),
    ("MLINE", "71 1 72 1 73 1 11 1 21 1 31 1 13 1 23 1 33 1 74 1 41 1"),
    ("MTEXT", "10 1 20 1 30 1 1 words"),
    ("HATCH", "60 0 62 1 67 0"),
];

/// Groups of the entities above that hold no number of use.
const NO_NUMBER: [i32; 4] = [0, 1, 2, 66];

#[test]
fn a_bad_number_in_any_group_that_is_used_stops_the_reading() {
    let mut tried = 0;
    for (kind, groups) in USED {
        let whole = format!("0 {kind} {groups}");
        drawing(&whole);
        let words: Vec<&str> = whole.split(' ').collect();
        for at in (0..words.len()).step_by(2) {
            let code: i32 = words[at].parse().expect("a code");
            if NO_NUMBER.contains(&code) {
                continue;
            }
            for bad in ["1,5", "nan", "inf", "1e999", "0x10", "1d0", "--1", "1.#QNAN"] {
                let mut spoilt = words.clone();
                spoilt[at + 1] = bad;
                let Error::Number {
                    line,
                    code: told,
                    text,
                    ..
                } = drawing_error(&spoilt.join(" "))
                else {
                    panic!("{kind} {code} {bad}: a number error was expected");
                };
                // Four lines come before the entity.
                assert_eq!((line, told, text.as_str()), (4 + at + 2, code, bad), "{kind}");
                tried += 1;
            }
        }
    }
    assert!(tried > 500);
}

#[test]
fn whole_numbers_may_be_written_as_reals() {
    let Shape::LwPolyline(line) = &only(&drawing("0 LWPOLYLINE 90 1.0 70 1.000 10 5 20 6"))
        .shape
        .clone()
    else {
        panic!("a polyline was expected");
    };
    assert!(line.closed);
    assert_eq!(line.declared_vertices, Some(1));
}

#[test]
fn a_fraction_is_no_whole_number() {
    let error = drawing_error("0 LWPOLYLINE 90 1 70 1.5 10 5 20 6");
    assert_eq!(
        error.to_string(),
        "line 10: group 70 of LWPOLYLINE holds `1.5`, which is not a whole number"
    );
    assert!(matches!(
        drawing_error("0 LINE 62 99999999999"),
        Error::Number { code: 62, .. }
    ));
}

#[test]
fn numbers_are_read_to_the_last_bit() {
    for text in [
        "0.1",
        "1e-320",
        "123456789.123456789",
        "-2.2250738585072014E-308",
        "9007199254740993",
        "+.5",
        "5.",
    ] {
        let document = drawing(&format!("0 POINT 10 {text} 20 0"));
        let Shape::Point { at } = only(&document).shape else {
            panic!("a point was expected");
        };
        assert_eq!(
            at[0].to_bits(),
            text.parse::<f64>().expect("a number").to_bits(),
            "{text}"
        );
    }
}

#[test]
fn blanks_around_numbers_and_codes_do_not_matter() {
    let text = "  0  \nSECTION\n\t2\nENTITIES\n  0\nPOINT \n 10\n   1.5\t \n 20 \n 2\n  0\n ENDSEC\n0\nEOF\n";
    let document = kerfwright::dxf::read(text.as_bytes()).expect("a point");
    assert!(matches!(
        only(&document).shape,
        Shape::Point { at: [1.5, 2.0, 0.0] }
    ));
}

#[test]
fn header_and_layer_numbers_are_held_to_the_same() {
    let header = super::lines("0 SECTION 2 HEADER 9 $INSUNITS 70 mm 0 ENDSEC 0 EOF");
    assert!(matches!(
        kerfwright::dxf::read(&header),
        Err(Error::Number { line: 8, code: 70, entity, .. }) if entity == "$INSUNITS"
    ));
    let table = super::lines("0 SECTION 2 TABLES 0 TABLE 2 LAYER 0 LAYER 2 A 62 red 0 ENDTAB 0 ENDSEC 0 EOF");
    assert!(matches!(
        kerfwright::dxf::read(&table),
        Err(Error::Number { line: 14, code: 62, entity, .. }) if entity == "LAYER"
    ));
}

#[test]
fn a_long_bad_value_is_quoted_in_part() {
    let error = drawing_error(&format!("0 POINT 10 {} 20 0", "9x".repeat(5000)));
    assert!(error.to_string().len() < 200, "{error}");
}

#[test]
fn a_missing_number_that_cannot_be_done_without_stops_the_reading() {
    for (entity, code) in [
        ("LINE 10 0 20 0 11 1", 21),
        ("LINE 10 0 20 0 21 1", 11),
        ("CIRCLE 10 0 20 0", 40),
        ("ARC 10 0 20 0 40 1 50 0", 51),
        ("ELLIPSE 10 0 20 0 11 1 21 0", 40),
        ("POINT 10 0", 20),
        ("INSERT 2 B 20 0", 10),
        ("POLYLINE 66 1 70 0 0 VERTEX 10 0 0 SEQEND", 20),
    ] {
        let Error::Structure { reason, .. } = drawing_error(&format!("0 {entity}")) else {
            panic!("{entity}: a structure error was expected");
        };
        assert!(
            reason.ends_with(&format!("group {code} is missing")),
            "{entity}: {reason}"
        );
    }
}

#[test]
fn coordinates_out_of_order_stop_the_reading() {
    for entity in [
        "LWPOLYLINE 20 0 10 0",
        "LWPOLYLINE 42 1 10 0 20 0",
        "LWPOLYLINE 10 0 10 1 20 1",
        "LWPOLYLINE 10 0 20 0 10 1",
        "SPLINE 71 3 10 0 11 0 21 0",
    ] {
        assert!(
            matches!(drawing_error(&format!("0 {entity}")), Error::Structure { .. }),
            "{entity}"
        );
    }
}
