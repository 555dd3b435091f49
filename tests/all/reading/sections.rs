//! The frame of a file: sections, tables, what is missing or too much in it.

use kerfwright::dxf::document::NoticeKind;
use kerfwright::dxf::{self, Error};

use super::{drawing, drawing_error, lines, notices, only};

fn read(words: &str) -> kerfwright::dxf::Document {
    dxf::read(&lines(words)).unwrap_or_else(|error| panic!("{words}: {error}"))
}

#[test]
fn the_header_says_units_version_and_code_page() {
    let header = read(
        "0 SECTION 2 HEADER 9 $ACADVER 1 AC1027 9 $EXTMIN 10 0 20 0 9 $INSUNITS 70 1 9 $MEASUREMENT 70 0 \
         9 $DWGCODEPAGE 3 ANSI_1252 0 ENDSEC 0 SECTION 2 ENTITIES 0 ENDSEC 0 EOF",
    )
    .header;
    assert_eq!(
        (header.version.as_str(), header.code_page.as_str()),
        ("AC1027", "ANSI_1252")
    );
    assert_eq!(
        (header.insunits, header.measurement, header.binary),
        (Some(1), Some(0), false)
    );
}

/// Every version from R1.50 to 2018 (the values of `$ACADVER`: DXF reference, HEADER section; those before R10 from
/// memory), with the markers that later ones write and without.
#[test]
fn every_version_is_read_with_its_markers_and_without() {
    let versions = [
        "AC1.50", "AC2.10", "AC1001", "AC1002", "AC1003", "AC1004", "AC1006", "AC1009", "AC1012", "AC1014",
        "AC1015", "AC1018", "AC1021", "AC1024", "AC1027", "AC1032",
    ];
    for version in versions {
        for (entity, own) in [("", ""), ("100 AcDbEntity", "100 AcDbCircle")] {
            let document = read(&format!(
                "0 SECTION 2 HEADER 9 $ACADVER 1 {version} 9 $INSUNITS 70 4 0 ENDSEC 0 SECTION 2 ENTITIES \
                 0 CIRCLE 5 1F {entity} 8 A {own} 10 1 20 2 40 3 0 ENDSEC 0 EOF"
            ));
            assert_eq!(document.header.version, version);
            assert_eq!(
                (document.header.insunits, only(&document).handle),
                (Some(4), 0x1F)
            );
            assert!(
                matches!(
                    only(&document).shape,
                    kerfwright::dxf::document::Shape::Circle { radius: 3.0, .. }
                ),
                "{version}"
            );
            assert_eq!(notices(&document), [], "{version}");
        }
    }
}

#[test]
fn a_layer_has_its_flags_colour_and_linetype() {
    let document = read(
        "0 SECTION 2 TABLES 0 TABLE 2 LTYPE 70 1 0 LTYPE 2 CENTER 70 0 0 ENDTAB 0 TABLE 2 LAYER 70 9 \
         0 LAYER 5 10 2 A 70 5 62 -3 6 CENTER 290 0 0 LAYER 2 B 70 4 0 ENDTAB 0 ENDSEC \
         0 SECTION 2 ENTITIES 0 POINT 8 b 6 Center 62 1 10 0 20 0 0 POINT 8 C 10 0 20 0 0 ENDSEC 0 EOF",
    );
    let [a, b, c] = document.layers.as_slice() else {
        panic!("three layers were expected: {:?}", document.layers);
    };
    assert!(a.off && a.frozen && a.not_plotted && a.declared);
    assert_eq!(
        (a.name.as_str(), a.color, a.linetype.as_str()),
        ("A", 3, "CENTER")
    );
    assert!(!b.off && !b.frozen && !b.not_plotted && b.declared);
    assert_eq!((b.color, b.linetype.as_str()), (7, "Continuous"));
    assert_eq!((c.name.as_str(), c.declared), ("C", false));
    let point = &document.entities[0];
    assert_eq!((point.layer, point.color), (1, 1));
    assert_eq!(document.linetypes[point.linetype as usize], "Center");
    assert_eq!(document.entities[1].linetype, 0);
    assert_eq!(document.linetypes[0], "ByLayer");
}

#[test]
fn other_sections_are_walked_through() {
    let document = read(
        "0 SECTION 2 CLASSES 0 CLASS 1 X 0 ENDSEC 0 SECTION 2 ENTITIES 0 POINT 10 1 20 2 0 ENDSEC \
         0 SECTION 2 OBJECTS 0 DICTIONARY 3 ENDSEC 0 LINE 10 x 0 ENDSEC 0 SECTION 2 ACDSDATA 70 2 0 ENDSEC \
         0 SECTION 2 THUMBNAILIMAGE 90 1 310 FF 0 ENDSEC 0 EOF",
    );
    assert_eq!(document.entities.len(), 1);
    assert_eq!(notices(&document), []);
}

#[test]
fn an_unknown_section_is_said() {
    let document = read("0 SECTION 2 ENTITES 0 POINT 10 1 20 2 0 ENDSEC 0 SECTION 2 ENTITIES 0 ENDSEC 0 EOF");
    assert_eq!(notices(&document), [NoticeKind::SectionUnknown("ENTITES".into())]);
}

#[test]
fn clipped_inserts_are_said() {
    let document = read(
        "0 SECTION 2 ENTITIES 0 ENDSEC 0 SECTION 2 OBJECTS 0 SPATIAL_FILTER 70 4 0 SPATIAL_FILTER 70 4 0 ENDSEC 0 EOF",
    );
    assert_eq!(notices(&document), [NoticeKind::ClippingIgnored(2)]);
}

#[test]
fn missing_ends_are_said() {
    let document = read("0 SECTION 2 TABLES 0 SECTION 2 ENTITIES 0 POINT 10 1 20 2 0 EOF");
    assert_eq!(document.entities.len(), 1);
    assert_eq!(
        notices(&document),
        [
            NoticeKind::EndMissing("SECTION"),
            NoticeKind::EndMissing("SECTION")
        ]
    );

    let document = drawing("0 POLYLINE 66 1 70 0 0 VERTEX 10 1 20 2 0 POINT 10 1 20 2");
    assert_eq!(document.entities.len(), 2);
    assert_eq!(notices(&document), [NoticeKind::EndMissing("POLYLINE")]);
}

#[test]
fn stray_tags_between_sections_are_said() {
    let document =
        read("0 SECTION 2 ENTITIES 0 ENDSEC 9 $EXTMIN 10 0 20 0 0 ENDSEC 0 SECTION 2 OBJECTS 0 ENDSEC 0 EOF");
    assert_eq!(notices(&document), [NoticeKind::TagsOutsideSection]);
}

#[test]
fn an_entity_outside_of_any_section_is_refused() {
    let bytes = lines("0 SECTION 2 ENTITIES 0 ENDSEC 0 LINE 10 0 20 0 11 1 21 1 0 EOF");
    assert_eq!(
        dxf::read(&bytes).expect_err("a stray line"),
        Error::Structure {
            line: 8,
            reason: "`LINE` stands outside of any section".into()
        }
    );
}

#[test]
fn tags_of_an_entity_whose_type_is_missing_are_refused() {
    for section in ["ENTITIES", "BLOCKS"] {
        let bytes = lines(&format!("0 SECTION 2 {section} 10 1 20 2 0 ENDSEC 0 EOF"));
        assert!(
            matches!(dxf::read(&bytes), Err(Error::Structure { line: 6, .. })),
            "{section}"
        );
    }
}

#[test]
fn a_section_without_a_name_is_refused() {
    assert!(matches!(
        dxf::read(&lines("0 SECTION 0 LINE 0 EOF")),
        Err(Error::Structure { line: 2, .. })
    ));
}

#[test]
fn a_line_that_should_be_a_group_code_is_quoted() {
    let Error::Structure { line, reason } = drawing_error("0 POINT 10 1 20 2 oops 1") else {
        panic!("a structure error was expected");
    };
    assert_eq!(
        (line, reason.as_str()),
        (11, "a group code was expected, not `oops`")
    );
}

#[test]
fn line_ends_may_be_of_any_kind() {
    let text = String::from_utf8(super::drawing_bytes("0 POINT 8 A 10 1 20 2")).expect("text");
    for end in ["\n", "\r\n", "\r"] {
        let document = dxf::read(text.replace('\n', end).as_bytes()).expect("a point");
        assert_eq!(only(&document).line, 6);
        assert_eq!(document.layers[0].name, "A");
    }
}

#[test]
fn handles_that_stand_twice_or_cannot_be_read_are_said() {
    let document =
        drawing("0 POINT 5 1F 10 0 20 0 0 POINT 5 1f 10 0 20 0 0 POINT 5 XYZ 10 0 20 0 0 POINT 10 0 20 0");
    assert_eq!(
        document
            .entities
            .iter()
            .map(|entity| entity.handle)
            .collect::<Vec<_>>(),
        [0x1F, 0x1F, 0, 0]
    );
    assert_eq!(
        notices(&document),
        [NoticeKind::HandleRepeated, NoticeKind::HandleUnreadable]
    );
    assert_eq!(document.notices[0].handle, 0x1F);
}

#[test]
fn groups_of_applications_and_embedded_objects_are_not_the_entity_s_own() {
    let document = drawing("0 CIRCLE 102 {MINE 40 7 10 x 102 } 8 A 10 1 20 2 40 3 1001 APP 1040 9 1010 x");
    assert!(matches!(
        only(&document).shape,
        kerfwright::dxf::document::Shape::Circle {
            center: [1.0, 2.0, 0.0],
            radius: 3.0
        }
    ));
    let document = drawing("0 MTEXT 10 1 20 2 1 words 101 Embedded 10 5 20 6 1 other");
    let kerfwright::dxf::document::Shape::Text(text) = &only(&document).shape else {
        panic!("a text was expected");
    };
    assert_eq!((text.at, text.text.as_str()), ([1.0, 2.0, 0.0], "words"));
}

#[test]
fn a_group_of_an_application_that_is_not_closed_is_refused() {
    let Error::Structure { reason, .. } = drawing_error("0 CIRCLE 10 1 20 2 40 3 102 {MINE 40 7") else {
        panic!("a structure error was expected");
    };
    assert_eq!(reason, "CIRCLE: a group 102 `{` that nothing closes");
}
