use super::Error;
use super::tag::{Tag, Value, quoted};

/// The end-of-file mark of old systems (Ctrl-Z).
const CTRL_Z: u8 = 0x1A;

/// Comments have this group code.
const COMMENT: i32 = 999;

/// Group codes have up to four digits. Longer ones are left to the slower way, which minds overflow.
const MOST_CODE_DIGITS: usize = 4;

/// The tags of an ASCII file: two lines each, ended by LF, CR or CR LF.
pub(super) struct AsciiTags<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
}

impl<'a> AsciiTags<'a> {
    /// Starts at the first line of `bytes` that is not blank.
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        let mut tags = Self {
            bytes,
            at: 0,
            line: 0,
        };
        loop {
            let (at, line) = (tags.at, tags.line);
            match tags.next_line() {
                Some(text) if text.trim_ascii().is_empty() => {}
                _ => return Self { bytes, at, line },
            }
        }
    }

    pub(super) fn line(&self) -> usize {
        self.line
    }

    pub(super) fn next(&mut self) -> Result<Option<Tag<'a>>, Error> {
        loop {
            let code = match self.plain_code() {
                Some(code) => code,
                None => match self.odd_code()? {
                    Some(code) => code,
                    None => return Ok(None),
                },
            };
            let Some(value) = self.next_line() else {
                return Err(Error::Truncated {
                    line: self.line,
                    what: format!("a tag: group {code} has no value"),
                });
            };
            if code != COMMENT {
                return Ok(Some(Tag {
                    code,
                    value: Value::Text(value),
                    line: self.line,
                }));
            }
        }
    }

    /// Returns the code, when its line is as most are: blanks, digits, and the end, looked at once. Else nothing is read.
    fn plain_code(&mut self) -> Option<i32> {
        let rest = &self.bytes[self.at..];
        let mut length = rest.iter().position(|&byte| byte != b' ')?;
        let first_digit = length;
        let mut code = 0;
        while let Some(digit @ b'0'..=b'9') = rest.get(length) {
            code = code * 10 + i32::from(digit - b'0');
            length += 1;
            if length - first_digit > MOST_CODE_DIGITS {
                return None;
            }
        }
        let end_length = match rest[length..] {
            _ if length == first_digit => return None,
            [b'\n', ..] => 1,
            [b'\r', b'\n', ..] => 2,
            _ => return None,
        };
        self.at += length + end_length;
        self.line += 1;
        Some(code)
    }

    /// Returns the code of any line, or `None` where the file ends.
    fn odd_code(&mut self) -> Result<Option<i32>, Error> {
        let start = self.at;
        let Some(line) = self.next_line() else {
            return Ok(None);
        };
        if let Some(code) = parse_code(line) {
            return Ok(Some(code));
        }
        if line.trim_ascii_start().first() == Some(&CTRL_Z) || is_blank(&self.bytes[start..]) {
            self.at = self.bytes.len();
            return Ok(None);
        }
        Err(Error::Structure {
            line: self.line,
            reason: format!("a group code was expected, not `{}`", quoted(line)),
        })
    }

    fn next_line(&mut self) -> Option<&'a [u8]> {
        let rest = &self.bytes[self.at..];
        if rest.is_empty() {
            return None;
        }
        self.line += 1;
        let Some(length) = rest.iter().position(|&b| b == b'\n' || b == b'\r') else {
            self.at = self.bytes.len();
            return Some(rest);
        };
        let end = if rest[length..].starts_with(b"\r\n") { 2 } else { 1 };
        self.at += length + end;
        Some(&rest[..length])
    }
}

/// Reads a group code: a whole number with blanks around it.
fn parse_code(line: &[u8]) -> Option<i32> {
    str::from_utf8(line.trim_ascii()).ok()?.parse().ok()
}

fn is_blank(bytes: &[u8]) -> bool {
    bytes
        .iter()
        .all(|&b| b.is_ascii_whitespace() || b == 0 || b == CTRL_Z)
}
