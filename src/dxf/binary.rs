use super::Error;
use super::tag::{Tag, Value};

/// What every binary file begins with.
pub(super) const SENTINEL: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\0";

/// Comments have this group code.
const COMMENT: i32 = 999;

/// In files with codes of one byte, this byte says that a code of two bytes follows.
const LONG_CODE: u8 = 255;

/// The tags of a binary file. Numbers are little-endian, texts end with a zero byte.
pub(super) struct BinaryTags<'a> {
    bytes: &'a [u8],
    at: usize,
    tag: usize,
    code_size: CodeSize,
}

/// How group codes are written.
#[derive(Clone, Copy, PartialEq)]
enum CodeSize {
    /// Up to R12.
    OneByte,
    /// From R13 on.
    TwoBytes,
}

/// How the value of a group code is written.
enum Form {
    Text,
    Chunk,
    Real,
    Bool,
    Integer16,
    Integer32,
    Integer64,
}

impl<'a> BinaryTags<'a> {
    /// Reads what follows [`SENTINEL`]. The first tag is a `0 SECTION` or a comment, which tells the size of
    /// group codes.
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        let code_size = match bytes {
            [0, 0, ..] | [0xE7, 0x03, ..] => CodeSize::TwoBytes,
            _ => CodeSize::OneByte,
        };
        Self {
            bytes,
            at: 0,
            tag: 0,
            code_size,
        }
    }

    pub(super) fn line(&self) -> usize {
        self.tag
    }

    pub(super) fn next(&mut self) -> Result<Option<Tag<'a>>, Error> {
        loop {
            if self.at == self.bytes.len() {
                return Ok(None);
            }
            self.tag += 1;
            let code = self.code()?;
            let value = self.value(code)?;
            if code != COMMENT {
                return Ok(Some(Tag {
                    code,
                    value,
                    line: self.tag,
                }));
            }
        }
    }

    fn code(&mut self) -> Result<i32, Error> {
        if self.code_size == CodeSize::OneByte {
            let [byte] = self.take::<1>()?;
            if byte != LONG_CODE {
                return Ok(i32::from(byte));
            }
        }
        Ok(i32::from(i16::from_le_bytes(self.take()?)))
    }

    fn value(&mut self, code: i32) -> Result<Value<'a>, Error> {
        let form = form_of(code).ok_or_else(|| Error::Structure {
            line: self.tag,
            reason: format!("group code {code} is unknown, so the size of its value is too"),
        })?;
        Ok(match form {
            Form::Text => {
                let rest = &self.bytes[self.at..];
                let length = rest
                    .iter()
                    .position(|&b| b == 0)
                    .ok_or_else(|| self.cut_short())?;
                self.at += length + 1;
                Value::Text(&rest[..length])
            }
            Form::Chunk => {
                let [length] = self.take::<1>()?;
                let chunk = self.bytes[self.at..]
                    .get(..usize::from(length))
                    .ok_or_else(|| self.cut_short())?;
                self.at += chunk.len();
                Value::Text(chunk)
            }
            Form::Real => Value::Real(f64::from_le_bytes(self.take()?)),
            Form::Bool => Value::Integer(i64::from(self.take::<1>()?[0])),
            Form::Integer16 => Value::Integer(i64::from(i16::from_le_bytes(self.take()?))),
            Form::Integer32 => Value::Integer(i64::from(i32::from_le_bytes(self.take()?))),
            Form::Integer64 => Value::Integer(i64::from_le_bytes(self.take()?)),
        })
    }

    fn take<const N: usize>(&mut self) -> Result<[u8; N], Error> {
        let taken = *self.bytes[self.at..]
            .first_chunk()
            .ok_or_else(|| self.cut_short())?;
        self.at += N;
        Ok(taken)
    }

    fn cut_short(&self) -> Error {
        Error::Truncated {
            line: self.tag,
            what: "a tag of the binary file".into(),
        }
    }
}

/// The forms of the DXF Reference, "Group Code Value Types". Everything else within its range is a text.
fn form_of(code: i32) -> Option<Form> {
    Some(match code {
        10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059 => Form::Real,
        60..=79 | 170..=179 | 270..=289 | 370..=389 | 400..=409 | 1060..=1070 => Form::Integer16,
        90..=99 | 420..=429 | 440..=459 | 1071 => Form::Integer32,
        160..=169 => Form::Integer64,
        290..=299 => Form::Bool,
        310..=319 | 1004 => Form::Chunk,
        0..=9
        | 100..=109
        | 300..=309
        | 320..=369
        | 390..=399
        | 410..=419
        | 430..=439
        | 470..=481
        | 999..=1009 => Form::Text,
        _ => return None,
    })
}
