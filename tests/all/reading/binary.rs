//! Binary files say what the ASCII file they are made from says. The encoder here is written from the DXF
//! Reference ("Binary DXF Files", "Group Code Value Types"), apart from the reader.

use kerfwright::dxf::document::Document;
use kerfwright::dxf::{self, Error};

use super::drawing_bytes;
use crate::common::fixture;

/// How group codes are written.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Codes {
    /// Up to R12.
    OneByte,
    /// From R13 on.
    TwoBytes,
}

const BOTH: [Codes; 2] = [Codes::OneByte, Codes::TwoBytes];

const MARK: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\0";

fn put_code(out: &mut Vec<u8>, code: u16, codes: Codes) {
    match codes {
        Codes::OneByte if code < 255 => out.push(code as u8),
        Codes::OneByte => {
            out.push(255);
            out.extend(code.to_le_bytes());
        }
        Codes::TwoBytes => out.extend(code.to_le_bytes()),
    }
}

/// The binary file of an ASCII one whose lines end with LF; `None` where a value is not what its code wants.
fn binary(ascii: &[u8], codes: Codes) -> Option<Vec<u8>> {
    let mut out = MARK.to_vec();
    let mut lines = ascii.split(|&byte| byte == b'\n');
    while let (Some(code), Some(value)) = (lines.next(), lines.next()) {
        let code: u16 = str::from_utf8(code).ok()?.trim().parse().ok()?;
        put_code(&mut out, code, codes);
        let text = || str::from_utf8(value).ok().map(str::trim);
        match code {
            10..=59 | 110..=149 | 210..=239 | 1010..=1059 => {
                out.extend(text()?.parse::<f64>().ok()?.to_le_bytes());
            }
            60..=79 | 170..=179 | 270..=289 | 370..=389 | 1060..=1070 => {
                out.extend(text()?.parse::<i16>().ok()?.to_le_bytes());
            }
            90..=99 | 420..=429 | 1071 => out.extend(text()?.parse::<i32>().ok()?.to_le_bytes()),
            160..=169 => out.extend(text()?.parse::<i64>().ok()?.to_le_bytes()),
            290..=299 => out.push(text()?.parse().ok()?),
            310..=319 | 1004 => {
                let digits = text()?;
                out.push((digits.len() / 2) as u8);
                for at in (0..digits.len()).step_by(2) {
                    out.push(u8::from_str_radix(&digits[at..at + 2], 16).ok()?);
                }
            }
            _ => {
                out.extend(value);
                out.push(0);
            }
        }
    }
    Some(out)
}

/// What a document says, without the line numbers, which are tag numbers in a binary file.
fn said(document: &Document) -> String {
    let mut document = document.clone();
    document.header.binary = false;
    for entity in document
        .entities
        .iter_mut()
        .chain(document.blocks.iter_mut().flat_map(|block| &mut block.entities))
    {
        entity.line = 0;
    }
    document.blocks.iter_mut().for_each(|block| block.line = 0);
    document.notices.iter_mut().for_each(|notice| notice.line = 0);
    format!("{document:?}")
}

#[test]
fn every_case_reads_the_same_from_binary() {
    let mut compared = 0;
    for entry in std::fs::read_dir(fixture("cases")).expect("the folder fixtures/cases") {
        let path = entry.expect("an entry of the folder").path();
        let ascii = std::fs::read(&path).expect("a file of the folder");
        let Ok(document) = dxf::read(&ascii) else {
            continue;
        };
        if !ascii.contains(&b'\n') {
            continue;
        }
        for codes in BOTH {
            let Some(bytes) = binary(&ascii, codes) else {
                continue;
            };
            let again =
                dxf::read(&bytes).unwrap_or_else(|error| panic!("{} {codes:?}: {error}", path.display()));
            assert!(again.header.binary);
            assert_eq!(said(&again), said(&document), "{} {codes:?}", path.display());
            compared += 1;
        }
    }
    assert!(compared >= 60, "only {compared} files were compared");
}

#[test]
fn every_form_of_value_is_stepped_over_rightly() {
    let ascii = drawing_bytes(
        "0 HATCH 5 1F 48 0.5 70 -1 90 100000 100 AcDbX 105 AB 110 1 160 9000000000 170 3 210 0 270 1 290 1 300 text \
         310 00FF0A 330 1F 370 25 390 1F 420 16711680 1000 text 1004 0001 1010 2.5 1070 7 1071 70000 0 POINT 10 1 20 2",
    );
    for codes in BOTH {
        let document = dxf::read(&binary(&ascii, codes).expect("sound values")).expect("a sound file");
        assert_eq!(
            said(&document),
            said(&dxf::read(&ascii).expect("a sound file")),
            "{codes:?}"
        );
        assert_eq!(document.entities[1].line, 3 + 23 + 1);
    }
}

#[test]
fn a_binary_file_may_begin_with_a_comment() {
    let ascii = [b"999\nby hand\n".as_slice(), &drawing_bytes("0 POINT 10 1 20 2")].concat();
    for codes in BOTH {
        let document = dxf::read(&binary(&ascii, codes).expect("sound values")).expect("a point");
        assert_eq!(document.entities.len(), 1, "{codes:?}");
    }
}

#[test]
fn a_binary_number_that_is_none_stops_the_reading() {
    let ascii = drawing_bytes("0 CIRCLE 10 1 20 2 40 3");
    for codes in BOTH {
        let bytes = binary(&ascii, codes).expect("sound values");
        let three = 3.0_f64.to_le_bytes();
        let at = bytes
            .windows(8)
            .position(|window| window == three)
            .expect("the radius");
        for bad in [f64::NAN, f64::INFINITY] {
            let mut spoilt = bytes.clone();
            spoilt[at..at + 8].copy_from_slice(&bad.to_le_bytes());
            let Err(Error::Number {
                line, code, entity, ..
            }) = dxf::read(&spoilt)
            else {
                panic!("a number error was expected");
            };
            assert_eq!((line, code, entity.as_str()), (6, 40, "CIRCLE"));
        }
    }
}

#[test]
fn a_binary_file_cut_short_is_never_a_smaller_drawing() {
    let ascii = drawing_bytes("0 CIRCLE 8 A 10 1 20 2 40 3 90 7 70 1 290 1 310 00FF 0 POINT 10 1 20 2");
    for codes in BOTH {
        let bytes = binary(&ascii, codes).expect("sound values");
        let mut errors = 0;
        for length in MARK.len()..bytes.len() {
            match dxf::read(&bytes[..length]) {
                Ok(document) => assert_eq!(document.entities.len(), 2, "{codes:?}, {length} bytes"),
                Err(_) => errors += 1,
            }
        }
        assert!(errors > 100);
    }
}

#[test]
fn an_unknown_group_code_stops_a_binary_file() {
    for codes in BOTH {
        let mut bytes = MARK.to_vec();
        for (code, text) in [(0, "SECTION"), (2, "ENTITIES"), (0, "POINT"), (250, "?")] {
            put_code(&mut bytes, code, codes);
            bytes.extend(text.as_bytes());
            bytes.push(0);
        }
        assert_eq!(
            dxf::read(&bytes).expect_err("250 is no group code"),
            Error::Structure {
                line: 4,
                reason: "group code 250 is unknown, so the size of its value is too".into()
            }
        );
    }
}
