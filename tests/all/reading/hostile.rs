//! Files made to be too much: time and memory stay in proportion to the file.

use kerfwright::dxf::Error;
use kerfwright::dxf::document::{NoticeKind, Shape};

use super::{drawing, drawing_error, notices, only};

#[test]
fn a_count_that_the_file_cannot_hold_is_refused() {
    for (entity, what) in [
        ("LWPOLYLINE 90 2147483648 10 0 20 0", "LWPOLYLINE vertices"),
        ("SPLINE 71 3 72 2147483648", "SPLINE knots"),
        ("SPLINE 71 3 73 2147483648", "SPLINE control points"),
        ("SPLINE 71 3 74 9000000000000000000", "SPLINE fit points"),
        ("MLINE 71 1 72 2147483648 73 0", "MLINE vertices"),
    ] {
        let error = drawing_error(&format!("0 {entity}"));
        assert!(
            matches!(error, Error::TooMuch { what: told, .. } if told == what),
            "{entity}: {error}"
        );
    }
    let error = drawing_error("0 LWPOLYLINE 90 2147483648 10 0 20 0").to_string();
    assert_eq!(
        error,
        "line 6: 2147483648 LWPOLYLINE vertices are declared, but the whole file has only 73 bytes"
    );
}

#[test]
fn a_negative_count_is_noticed() {
    let document = drawing("0 LWPOLYLINE 90 -5 10 0 20 0");
    assert_eq!(
        notices(&document),
        [NoticeKind::CountDiffers("LWPOLYLINE vertices", -5, 1)]
    );
}

#[test]
fn a_huge_array_is_read_as_what_it_says() {
    let document = drawing("0 INSERT 2 A 10 0 20 0 70 32767 71 1000000000");
    assert!(
        matches!(&only(&document).shape, Shape::Insert(insert) if (insert.columns, insert.rows) == (32767, 1_000_000_000))
    );
}

#[test]
fn blocks_nested_100_000_deep_are_read_one_by_one() {
    let block = |i: usize| {
        format!(
            "0\nBLOCK\n2\n{i}\n0\nINSERT\n2\n{}\n10\n0\n20\n0\n0\nENDBLK\n",
            i + 1
        )
    };
    let blocks = (0..100_000).map(block).collect::<Vec<_>>().concat();
    let text = format!(
        "0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n\
         0\nSECTION\n2\nENTITIES\n0\nINSERT\n2\n0\n10\n0\n20\n0\n0\nENDSEC\n0\nEOF\n"
    );
    let document = kerfwright::dxf::read(text.as_bytes()).expect("nothing is expanded");
    assert_eq!(document.blocks.len(), 100_000);
}

#[test]
fn a_long_line_is_no_matter() {
    let document = drawing(&format!(
        "0 TEXT 8 {} 10 0 20 0 1 {}",
        "l".repeat(1 << 20),
        "t".repeat(1 << 20)
    ));
    assert_eq!(document.layers[0].name.len(), 1 << 20);
}
