//! Files that were cut short. `t40` cuts a file of ours behind a whole tag, `t41` behind a group code.

use kerfwright::dxf::document::NoticeKind;
use kerfwright::dxf::{self, Error};

use super::{case, case_bytes, case_error, drawing_bytes, notices};

#[test]
fn t40_cut_between_two_tags() {
    let Error::Truncated { what, .. } = case_error("t40_cut_in_entity.dxf") else {
        panic!("the file was cut short");
    };
    assert_eq!(what, "LINE");
}

#[test]
fn t41_cut_in_a_tag() {
    let Error::Truncated { what, .. } = case_error("t41_cut_in_tag.dxf") else {
        panic!("the file was cut short");
    };
    assert_eq!(what, "a tag: group 21 has no value");
}

#[test]
fn t44_only_the_eof_mark_is_missing() {
    let document = case("t44_no_eof.dxf");
    assert_eq!(document.entities.len(), 1);
    assert_eq!(notices(&document), [NoticeKind::NoEof]);
}

#[test]
fn t46_empty() {
    assert_eq!(case_error("t46_empty.dxf"), Error::Empty);
    assert_eq!(
        dxf::read(b" \r\n\t\n").expect_err("nothing but blanks"),
        Error::Empty
    );
}

/// Whatever is cut off, the answer is never a smaller drawing: it is an error, or all entities are there.
#[test]
fn no_cut_loses_an_entity_in_silence() {
    for name in [
        "t12_insert_nonuniform.dxf",
        "t25_polyline_splinefit.dxf",
        "t32_byblock_off.dxf",
    ] {
        let whole = case_bytes(name);
        let entities = format!("{:?}", case(name).entities);
        let mut errors = 0;
        for length in 1..whole.len() {
            match dxf::read(&whole[..length]) {
                Ok(document) => assert_eq!(
                    format!("{:?}", document.entities),
                    entities,
                    "{name}, {length} bytes"
                ),
                Err(_) => errors += 1,
            }
        }
        assert!(errors > whole.len() / 2);
    }
}

#[test]
fn a_file_cut_before_its_entities_is_no_empty_drawing() {
    let bytes = super::lines("0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC");
    assert!(matches!(dxf::read(&bytes), Err(Error::Truncated { .. })));
}

#[test]
fn what_stands_behind_the_eof_mark_does_not_matter() {
    let mut bytes = drawing_bytes("0 POINT 10 0 20 0");
    bytes.extend_from_slice(b"neither\ntag\nnor\n\xFF\x00comment");
    let document = dxf::read(&bytes).expect("a point");
    assert_eq!(document.entities.len(), 1);
    assert_eq!(notices(&document), []);
}

#[test]
fn blank_lines_and_zeros_may_stand_in_for_the_eof_mark() {
    let mut bytes = super::lines("0 SECTION 2 ENTITIES 0 POINT 10 0 20 0 0 ENDSEC");
    bytes.extend_from_slice(b"\r\n \r\n\0\0\x1a");
    assert_eq!(notices(&dxf::read(&bytes).expect("a point")), [NoticeKind::NoEof]);
}
