//! Files that are not DXF are refused with advice.

use kerfwright::dxf::{self, Error};

fn reason(bytes: &[u8]) -> String {
    match dxf::read(bytes) {
        Err(Error::NotDxf { reason, .. }) => reason,
        other => panic!(
            "{:?}: it should be no DXF file: {other:?}",
            String::from_utf8_lossy(bytes)
        ),
    }
}

#[test]
fn dwg_files_are_named() {
    // How DWG files begin: versions R1.2, R2.10, R14, 2000 and 2018.
    for magic in ["AC1.2", "AC2.10", "AC1014", "AC1015", "AC1032"] {
        let bytes = [magic.as_bytes(), &[0, 0, 0, 0, 0, 1, 2, 3]].concat();
        assert!(reason(&bytes).contains("DWG drawing: save it as DXF"), "{magic}");
    }
}

#[test]
fn pictures_documents_and_models_are_named() {
    for (bytes, word) in [
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".as_slice(), "PNG"),
        (b"\xFF\xD8\xFF\xE0\0\x10JFIF", "JPEG"),
        (b"GIF89a\x01\0", "GIF"),
        (b"%PDF-1.7\n", "PDF"),
        (b"PK\x03\x04\x14\0", "ZIP"),
        (b"<?xml version=\"1.0\"?><svg/>", "SVG"),
        (b"ISO-10303-21;\nHEADER;\n", "STEP"),
        (b"solid part\nfacet normal 0 0 1\n", "STL"),
        (b"\xFF\xFE0\0\r\0\n\0", "UTF-16"),
    ] {
        assert!(reason(bytes).contains(word), "{word}");
    }
}

#[test]
fn other_text_and_bytes_are_refused() {
    for bytes in [
        b"Dear customer,\nthe drawing follows.\n".as_slice(),
        b"12\n34\n56\n78\n",
        b"0",
        b"0\n",
        b"{\"type\": \"drawing\"}",
        &[0; 100],
        &[7, 200, 0, 1, 255],
    ] {
        assert_eq!(reason(bytes), "it does not begin with a SECTION");
    }
}

#[test]
fn a_piece_of_a_drawing_is_told_for_what_it_is() {
    assert_eq!(
        reason(b"  0\nARC\n  8\n0\n"),
        "it begins with `ARC`, not with a SECTION"
    );
}

#[test]
fn a_binary_file_that_was_sent_as_text_is_refused() {
    // The mark ends with CR LF, Ctrl-Z, zero: a transfer as text has turned CR LF into LF, there and in the
    // numbers.
    assert!(reason(b"AutoCAD Binary DXF\n\x1a\0\0\0SECTION\0").contains("mark is damaged"));
}
