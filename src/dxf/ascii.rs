use super::Error;
use super::tag::{Tag, Value, parse_code, quoted};

/// The end-of-file mark of old systems (Ctrl-Z).
const CTRL_Z: u8 = 0x1A;

/// Comments have this group code.
const COMMENT: i32 = 999;

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
            let start = self.at;
            let Some(code_line) = self.next_line() else {
                return Ok(None);
            };
            let Some(code) = parse_code(code_line) else {
                if code_line.trim_ascii_start().first() == Some(&CTRL_Z) || is_blank(&self.bytes[start..]) {
                    self.at = self.bytes.len();
                    return Ok(None);
                }
                return Err(Error::Structure {
                    line: self.line,
                    reason: format!("a group code was expected, not `{}`", quoted(code_line)),
                });
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

fn is_blank(bytes: &[u8]) -> bool {
    bytes
        .iter()
        .all(|&b| b.is_ascii_whitespace() || b == 0 || b == CTRL_Z)
}
