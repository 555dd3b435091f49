//! How JSON is laid out: a line for each key and each item, but numbers of a list side by side, so that a vertex is one line.

use std::io::{self, Write};

use serde_json::ser::{CharEscape, CompactFormatter, Formatter};

use crate::cancel::checkpoint;

/// A list of numbers stays on its line; all else is indented by two.
#[derive(Default)]
pub(super) struct Lines {
    open: Vec<Bracket>,
    /// A list has asked for its next item, which has not begun.
    before_item: Option<Item>,
}

/// What a bracket that is open holds so far.
#[derive(Clone, Copy, PartialEq)]
enum Bracket {
    Nothing,
    Numbers,
    Lines,
}

#[derive(Clone, Copy, PartialEq)]
enum Item {
    First,
    Later,
}

impl Lines {
    fn new_line(&self, writer: &mut (impl Write + ?Sized)) -> io::Result<()> {
        const SPACES: &[u8; 32] = b"                                ";
        checkpoint();
        writer.write_all(b"\n")?;
        let mut left = 2 * self.open.len();
        while left > 0 {
            let some = left.min(SPACES.len());
            writer.write_all(&SPACES[..some])?;
            left -= some;
        }
        Ok(())
    }

    /// Begins what is no number.
    fn begin(&mut self, writer: &mut (impl Write + ?Sized)) -> io::Result<()> {
        let Some(item) = self.before_item.take() else {
            return Ok(());
        };
        match self.open.last_mut() {
            // Such as an unknown one among them.
            Some(Bracket::Numbers) => return writer.write_all(b", "),
            Some(level) => *level = Bracket::Lines,
            None => {}
        }
        if item == Item::Later {
            writer.write_all(b",")?;
        }
        self.new_line(writer)
    }

    /// Begins a number.
    fn begin_number(&mut self, writer: &mut (impl Write + ?Sized)) -> io::Result<()> {
        match (self.before_item, self.open.last_mut()) {
            (Some(Item::First), Some(level)) => *level = Bracket::Numbers,
            (Some(Item::Later), Some(Bracket::Numbers)) => writer.write_all(b", ")?,
            (Some(Item::Later), _) => return self.begin(writer),
            _ => {}
        }
        self.before_item = None;
        Ok(())
    }

    fn end(&mut self, writer: &mut (impl Write + ?Sized), bracket: &[u8]) -> io::Result<()> {
        if self.open.pop() == Some(Bracket::Lines) {
            self.new_line(writer)?;
        }
        writer.write_all(bracket)
    }
}

/// On one line; as [`Lines`], without a sign before a zero.
pub(super) struct OneLine;

impl Formatter for OneLine {
    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        CompactFormatter.write_f64(writer, unsigned_zero(value))
    }
}

/// A line for each key of the document and each item of its lists; as [`OneLine`] within.
#[derive(Default)]
pub(super) struct Records {
    open: usize,
}

impl Records {
    /// Begins a key or an item; a record is a key of the document, or an item of a list that is its value.
    fn next<W: ?Sized + Write>(writer: &mut W, first: bool, is_record: bool) -> io::Result<()> {
        checkpoint();
        writer.write_all(match (first, is_record) {
            (true, true) => b"\n",
            (true, false) => b"",
            (false, true) => b",\n",
            (false, false) => b",",
        })
    }
}

impl Formatter for Records {
    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open += 1;
        writer.write_all(b"[")
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        Self::next(writer, first, self.open == 2)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open -= 1;
        writer.write_all(b"]")
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open += 1;
        writer.write_all(b"{")
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        Self::next(writer, first, self.open == 1)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open -= 1;
        writer.write_all(b"}")
    }

    // A picture is one string with a million of them.
    fn write_char_escape<W: ?Sized + Write>(&mut self, writer: &mut W, escape: CharEscape) -> io::Result<()> {
        checkpoint();
        CompactFormatter.write_char_escape(writer, escape)
    }

    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        OneLine.write_f64(writer, value)
    }
}

/// An empty sum is -0.0.
fn unsigned_zero(value: f64) -> f64 {
    value + 0.0
}

/// Numbers of every type begin alike.
macro_rules! numbers {
    ($($write:ident: $number:ty),*) => {
        $(fn $write<W: ?Sized + Write>(&mut self, writer: &mut W, value: $number) -> io::Result<()> {
            self.begin_number(writer)?;
            CompactFormatter.$write(writer, value)
        })*
    };
}

impl Formatter for Lines {
    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.begin(writer)?;
        self.open.push(Bracket::Nothing);
        writer.write_all(b"[")
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, _: &mut W, first: bool) -> io::Result<()> {
        self.before_item = Some(if first { Item::First } else { Item::Later });
        Ok(())
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.end(writer, b"]")
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.begin(writer)?;
        self.open.push(Bracket::Nothing);
        writer.write_all(b"{")
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.before_item = Some(if first { Item::First } else { Item::Later });
        self.begin(writer)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.end(writer, b"}")
    }

    fn begin_string<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.begin(writer)?;
        writer.write_all(b"\"")
    }

    fn write_null<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.begin(writer)?;
        writer.write_all(b"null")
    }

    fn write_bool<W: ?Sized + Write>(&mut self, writer: &mut W, value: bool) -> io::Result<()> {
        self.begin(writer)?;
        writer.write_all(if value { b"true" } else { b"false" })
    }

    numbers! {
        write_i8: i8, write_i16: i16, write_i32: i32, write_i64: i64, write_i128: i128, write_u8: u8, write_u16: u16,
        write_u32: u32, write_u64: u64, write_u128: u128, write_number_str: &str
    }

    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        self.begin_number(writer)?;
        CompactFormatter.write_f64(writer, unsigned_zero(value))
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::super::{LAID_OUT_AT_MOST, text};

    #[test]
    fn a_vertex_is_one_line_and_all_else_has_a_line_of_its_own() {
        let value = json!({
            "a": 1, "b": [], "c": {}, "d": [[1.5, -2.0, 0], [3, 4, 5]], "e": ["x", "y"], "f": [1, null, 2], "g": [{"h": [true, 1]}]
        });
        let wanted = "{\n  \"a\": 1,\n  \"b\": [],\n  \"c\": {},\n  \"d\": [\n    [1.5, -2.0, 0],\n    [3, 4, 5]\n  ],\n  \"e\": [\n    \
                      \"x\",\n    \"y\"\n  ],\n  \"f\": [1, null, 2],\n  \"g\": [\n    {\n      \"h\": [\n        true,\n        \
                      1\n      ]\n    }\n  ]\n}\n";
        assert_eq!(text(&value), wanted);
        let read: Value = serde_json::from_str(wanted).expect("sound JSON");
        assert_eq!(read, value);
    }
    /// Up to a million bytes a document is laid out; with one more each record has a line. What is read is the same.
    #[test]
    fn a_long_document_has_a_line_a_record() {
        let document =
            |length: usize| json!({ "a": [[1.5, -0.0], [2, {"b": null}]], "c": "x".repeat(length), "d": {} });
        let laid_out = text(&document(0)).len();
        let short = text(&document(LAID_OUT_AT_MOST - laid_out));
        assert_eq!(short.len(), LAID_OUT_AT_MOST);
        assert!(
            short.starts_with("{\n  \"a\": [\n    [1.5, 0.0],\n"),
            "{}",
            &short[..40]
        );
        let value = document(LAID_OUT_AT_MOST - laid_out + 1);
        let long = text(&value);
        let lines: Vec<&str> = long.lines().collect();
        assert_eq!(lines[..4], ["{", "\"a\":[", "[1.5,0.0],", "[2,{\"b\":null}]],"]);
        assert!(lines[4].starts_with("\"c\":\"xxx") && lines[5] == "\"d\":{}}" && lines.len() == 6);
        let read: Value = serde_json::from_str(&long).expect("sound JSON");
        assert_eq!(read, value);
    }
}
