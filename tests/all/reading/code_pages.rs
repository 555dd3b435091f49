use kerfwright::dxf;
use kerfwright::dxf::document::{Document, NoticeKind};

use super::{case, notices, only};

use crate::common::root;

/// The name of the layer of the only entity.
fn layer_name(document: &Document) -> &str {
    &document.layers[only(document).layer as usize].name
}

#[test]
fn t01_cp932() {
    let document = case("t01_sjis_layer.dxf");
    assert_eq!(layer_name(&document), "外形線");
    assert!(document.layers[only(&document).layer as usize].declared);
}

#[test]
fn t02_cp1252() {
    assert_eq!(layer_name(&case("t02_cp1252_layer.dxf")), "Außenkontur");
}

#[test]
fn t03_utf8_from_r2007_on_whatever_code_page_is_stated() {
    assert_eq!(layer_name(&case("t03_utf8_layer_2007.dxf")), "外形線");
}

#[test]
fn t04_cp1251() {
    assert_eq!(layer_name(&case("t04_cp1251_layer.dxf")), "Контур");
}

#[test]
fn t05_escaped_characters() {
    assert_eq!(layer_name(&case("t05_U+_escape.dxf")), "外形");
}

#[test]
fn t43_byte_order_mark() {
    let document = case("t43_bom.dxf");
    assert_eq!(layer_name(&document), "外形線");
    assert_eq!(notices(&document), []);
}

/// A drawing of one line, on a layer whose name is these bytes.
fn on_layer(version: &str, code_page: &str, layer: &[u8]) -> Document {
    let header = format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\n{version}\n9\n$DWGCODEPAGE\n3\n{code_page}\n0\nENDSEC\n\
         0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n"
    );
    let rest = b"\n10\n0\n20\n0\n11\n1\n21\n0\n0\nENDSEC\n0\nEOF\n";
    dxf::read(&[header.as_bytes(), layer, rest].concat()).expect("a drawing of one line")
}

/// Each text was encoded with Python's codec of the same number, or of the name in brackets.
#[test]
fn every_code_page() {
    let table: &[(&str, &[u8], &str)] = &[
        ("ANSI_874", b"\xE0\xCA\xE9\xB9", "เส้น"),
        ("ANSI_932", b"\x89~\x8C\xCA", "円弧"),
        ("dos932", b"\x89~\x8C\xCA", "円弧"),
        ("ANSI_936", b"\xC2\xD6\xC0\xAA", "轮廓"),
        ("GB2312", b"\xC2\xD6\xC0\xAA", "轮廓"),
        ("ANSI_949", b"\xBF\xDC\xB0\xFB", "외곽"),
        ("ANSI_950", b"\xBD\xFC\xB9\xF8", "輪廓"),
        ("ANSI_1250", b"\xF8ez", "řez"),
        ("ANSI_1251", b"\xEA\xF0\xF3\xE3", "круг"),
        ("ansi_1252", b"\xD6ffnung", "Öffnung"),
        ("ANSI_1253", b"\xEA\xFD\xEA\xEB\xEF\xF2", "κύκλος"),
        ("ANSI_1254", b"\xE7i\xFEim", "çişim"),
        ("ANSI_1255", b"\xF2\xE9\xE2\xE5\xEC", "עיגול"),
        ("ANSI_1256", b"\xCF\xC7\xC6\xD1\xC9", "دائرة"),
        ("ANSI_1257", b"\xE0pskritimas", "ąpskritimas"),
        ("ANSI_1258", b"\xF0\xFD\xF6ng", "đưöng"),
        ("ISO8859-2", b"\xF8ez", "řez"),
        ("mac-roman", b"\x85ffnung", "Öffnung"),
        ("DOS866", b"\xAA\xE0\xE3\xA3", "круг"),
        ("UTF-8", "řez".as_bytes(), "řez"),
        ("ascii", b"plain", "plain"),
    ];
    for (code_page, bytes, name) in table {
        let document = on_layer("AC1015", code_page, bytes);
        assert_eq!(layer_name(&document), *name, "{code_page}");
        assert_eq!(notices(&document), [], "{code_page}");
        assert_eq!(document.header.code_page, *code_page);
    }
}

#[test]
fn the_second_byte_of_a_character_may_look_like_a_backslash() {
    // 表 is 95 5C in cp932: the escapes are looked for in characters, not in bytes.
    assert_eq!(
        layer_name(&on_layer("AC1015", "ANSI_932", b"\x95\x5CU+5916")),
        "表U+5916"
    );
}

#[test]
fn double_byte_escapes_in_a_single_byte_file() {
    assert_eq!(
        layer_name(&on_layer("AC1015", "ANSI_1252", br"\M+18A4F\M+18C60")),
        "外形"
    );
}

/// Each of the upper 128 characters, against Python's codecs (`tests/reference/code_pages.py`), which are made from the
/// mappings of the Unicode consortium. A byte that has none there is said.
#[test]
fn dos_code_pages() {
    let path = root().join("tests/reference/code_pages.json");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let frozen: serde_json::Value = serde_json::from_str(&text).expect("the reference is JSON");
    let pages = frozen["answers"].as_object().expect("an answer a page");
    let mut compared = 0;
    for (page, characters) in pages {
        let characters = characters.as_str().expect("128 characters");
        assert_eq!(characters.chars().count(), 128, "{page}");
        for (byte, character) in (0x80..=0xFF).zip(characters.chars()) {
            let document = on_layer("AC1009", &format!("dos{page}"), &[b'a', byte, b'z']);
            if character == char::REPLACEMENT_CHARACTER {
                assert_eq!(
                    notices(&document),
                    [NoticeKind::TextUndecodable],
                    "{page}, {byte:X}"
                );
            } else {
                assert_eq!(
                    layer_name(&document),
                    format!("a{character}z"),
                    "{page}, {byte:X}"
                );
                assert_eq!(notices(&document), [], "{page}, {byte:X}");
                compared += 1;
            }
        }
    }
    assert!(compared > 17 * 110, "only {compared} characters were compared");
}

/// Words as Python's codecs of these numbers write them.
#[test]
fn layer_names_of_old_drawings() {
    for (code_page, bytes, name) in [
        ("dos437", b"\x99ffnung".as_slice(), "Öffnung"),
        ("DOS850", b"Au\xE1en\x9D", "AußenØ"),
        ("dos852", b"\xFDez", "řez"),
        ("dos855", b"\xC6\xE1\xE7\xAC", "круг"),
        ("dos857", b"\x87i\x9Fim", "çişim"),
    ] {
        let document = on_layer("AC1009", code_page, bytes);
        assert_eq!(layer_name(&document), name, "{code_page}");
        assert_eq!(notices(&document), [], "{code_page}");
    }
}

#[test]
fn an_unknown_code_page_is_said() {
    for page in ["johab", "ANSI_1361", "dos999", "klingon"] {
        let document = on_layer("AC1015", page, b"Au\xDFen");
        assert_eq!(layer_name(&document), "Außen");
        assert_eq!(notices(&document), [NoticeKind::CodePageUnknown(page.into())]);
    }
}

#[test]
fn a_text_that_is_not_what_the_file_states_is_said() {
    let document = on_layer("AC1027", "ANSI_1252", b"Au\xDFen");
    assert_eq!(layer_name(&document), "Außen");
    assert_eq!(notices(&document), [NoticeKind::TextUndecodable]);
}

#[test]
fn without_a_header_utf8_is_tried_first() {
    let file = |layer: &[u8]| {
        let begin = b"0\nSECTION\n2\nENTITIES\n0\nPOINT\n8\n".as_slice();
        dxf::read(&[begin, layer, b"\n10\n0\n20\n0\n0\nENDSEC\n0\nEOF\n"].concat()).expect("a point")
    };
    assert_eq!(layer_name(&file("Außen".as_bytes())), "Außen");
    assert_eq!(layer_name(&file(b"Au\xDFen")), "Außen");
}

#[test]
fn names_that_differ_only_in_case_are_one_layer() {
    let document =
        super::drawing("0 POINT 8 Outline 10 0 20 0 0 POINT 8 OUTLINE 10 1 20 0 0 POINT 8 inner 10 1 20 0");
    assert_eq!(
        document
            .entities
            .iter()
            .map(|entity| entity.layer)
            .collect::<Vec<_>>(),
        [0, 0, 1]
    );
    assert_eq!(
        document
            .layers
            .iter()
            .map(|layer| layer.name.as_str())
            .collect::<Vec<_>>(),
        ["Outline", "inner"]
    );
}
