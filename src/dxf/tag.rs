use super::{Error, ascii::AsciiTags, binary::BinaryTags};

/// Longest piece of a bad value that an error quotes, in bytes.
const QUOTED: usize = 60;

/// One group: its code and its value, borrowed from the file.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tag<'a> {
    pub(super) code: i32,
    pub(super) value: Value<'a>,
    /// Line of the value (binary: number of the tag), counted from 1.
    pub(super) line: usize,
}

/// A value as it stands in the file. An ASCII file holds nothing but text.
#[derive(Clone, Copy, Debug)]
pub(super) enum Value<'a> {
    Text(&'a [u8]),
    Real(f64),
    Integer(i64),
}

/// The tags of a file, in order, without its comments.
pub(super) enum Tags<'a> {
    Ascii(AsciiTags<'a>),
    Binary(BinaryTags<'a>),
}

impl<'a> Tags<'a> {
    /// The next tag; `None` where the file ends between two tags.
    pub(super) fn next(&mut self) -> Result<Option<Tag<'a>>, Error> {
        match self {
            Tags::Ascii(tags) => tags.next(),
            Tags::Binary(tags) => tags.next(),
        }
    }

    /// The last line that was read.
    pub(super) fn line(&self) -> usize {
        match self {
            Tags::Ascii(tags) => tags.line(),
            Tags::Binary(tags) => tags.line(),
        }
    }
}

impl<'a> Tag<'a> {
    /// The value as the bytes of a name or word, without blanks around it.
    pub(super) fn word(&self) -> &'a [u8] {
        self.text().trim_ascii()
    }

    /// The value as the bytes of a text, blanks and all; nothing when it is a number of a binary file.
    pub(super) fn text(&self) -> &'a [u8] {
        match self.value {
            Value::Text(bytes) => bytes,
            Value::Real(_) | Value::Integer(_) => b"",
        }
    }

    /// The value as a finite number. `entity` is named in the error.
    pub(super) fn real(&self, entity: &[u8]) -> Result<f64, Error> {
        let number = match self.value {
            Value::Text(bytes) => parse_real(bytes),
            Value::Real(number) => Some(number),
            Value::Integer(number) => Some(number as f64),
        };
        match number {
            Some(number) if number.is_finite() => Ok(number),
            Some(_) => Err(self.not_a("finite number", entity)),
            None => Err(self.not_a("number", entity)),
        }
    }

    /// The value as a whole number; `1.0` is one.
    pub(super) fn integer(&self, entity: &[u8]) -> Result<i64, Error> {
        let whole = |number: f64| (number.fract() == 0.0 && number.abs() < 9e15).then_some(number as i64);
        match self.value {
            Value::Text(bytes) => parse_integer(bytes).or_else(|| parse_real(bytes).and_then(whole)),
            Value::Real(number) => whole(number),
            Value::Integer(number) => Some(number),
        }
        .ok_or_else(|| self.not_a("whole number", entity))
    }

    /// The value as a whole number of 32 bits: flags, counts of small things, colours.
    pub(super) fn flags(&self, entity: &[u8]) -> Result<i32, Error> {
        i32::try_from(self.integer(entity)?).map_err(|_| self.not_a("whole number of 32 bits", entity))
    }

    /// The value as a handle; `None` when it is not hexadecimal. An empty handle is 0, as an absent one.
    pub(super) fn handle(&self) -> Option<u64> {
        let word = self.word();
        if word.is_empty() {
            return Some(0);
        }
        u64::from_str_radix(str::from_utf8(word).ok()?, 16).ok()
    }

    fn not_a(&self, wanted: &'static str, entity: &[u8]) -> Error {
        let text = match self.value {
            Value::Text(bytes) => quoted(bytes),
            Value::Real(number) => number.to_string(),
            Value::Integer(number) => number.to_string(),
        };
        Error::Number {
            line: self.line,
            code: self.code,
            entity: quoted(entity),
            text,
            wanted,
        }
    }
}

/// The bytes as an error message shows them: short, and readable whatever they are.
pub(super) fn quoted(bytes: &[u8]) -> String {
    let bytes = bytes.trim_ascii();
    let shown: String = String::from_utf8_lossy(&bytes[..bytes.len().min(QUOTED)])
        .chars()
        .map(|c| if c.is_control() { '\u{FFFD}' } else { c })
        .collect();
    if bytes.len() > QUOTED {
        shown + "…"
    } else {
        shown
    }
}

/// A group code: a whole number with blanks around it.
pub(super) fn parse_code(line: &[u8]) -> Option<i32> {
    let word = line.trim_ascii();
    let (negative, digits) = match word {
        [b'-', rest @ ..] => (true, rest),
        _ => (false, word),
    };
    // No code has more than four digits; six leave room for private ones, and no overflow.
    if digits.is_empty() || digits.len() > 6 {
        return None;
    }
    let mut code = 0;
    for digit in digits {
        if !digit.is_ascii_digit() {
            return None;
        }
        code = code * 10 + i32::from(digit - b'0');
    }
    Some(if negative { -code } else { code })
}

fn parse_real(bytes: &[u8]) -> Option<f64> {
    str::from_utf8(bytes.trim_ascii()).ok()?.parse().ok()
}

fn parse_integer(bytes: &[u8]) -> Option<i64> {
    str::from_utf8(bytes.trim_ascii()).ok()?.parse().ok()
}
