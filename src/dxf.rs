//! Reading DXF: our own tag reader, in which every tag has its line and nothing is dropped unseen.

pub mod document;

mod ascii;
mod binary;
mod code_page;
mod entity;
mod foreign;
mod header;
mod names;
mod reader;
mod tables;
mod tag;
mod tags;

use thiserror::Error;

use ascii::AsciiTags;
use binary::{BinaryTags, SENTINEL};
pub use document::Document;
use reader::Reader;
use tags::Tags;

/// The byte order mark of UTF-8.
const UTF8_MARK: &[u8] = b"\xEF\xBB\xBF";

/// Why a file cannot be read. Every variant states where.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum Error {
    /// Nothing in it.
    #[error("the file is empty")]
    Empty,
    /// Not a DXF file at all.
    #[error("line {line}: this is not a DXF file: {reason}")]
    NotDxf {
        /// Where it stopped making sense.
        line: usize,
        /// What was seen.
        reason: String,
    },
    /// A value that should be a number is none.
    #[error("line {line}: group {code} of {entity} holds `{text}`, which is not a {wanted}")]
    Number {
        /// Line of the value.
        line: usize,
        /// Group code.
        code: i32,
        /// Entity type it belongs to.
        entity: String,
        /// What stands there.
        text: String,
        /// What should: `number`, `finite number`, `whole number`, …
        wanted: &'static str,
    },
    /// The file stops in the middle.
    #[error("line {line}: the file ends in the middle of {what}; it was cut short")]
    Truncated {
        /// Last line.
        line: usize,
        /// Of what.
        what: String,
    },
    /// A structure that cannot stand.
    #[error("line {line}: {reason}")]
    Structure {
        /// Where.
        line: usize,
        /// What is wrong.
        reason: String,
    },
    /// A declared count that the whole file could not hold.
    #[error("line {line}: {found} {what} are declared, but the whole file has only {limit} bytes")]
    TooMuch {
        /// Where.
        line: usize,
        /// Of what.
        what: &'static str,
        /// How many.
        found: u64,
        /// Bytes in the file.
        limit: u64,
    },
}

/// Reads a DXF file, ASCII or binary, R12 or earlier to 2018.
///
/// Takes time and memory in proportion to `bytes`: nothing is allocated for a count that the file declares, no
/// block is expanded, nothing recurses. See [`document`] for what is guaranteed of the result.
pub fn read(bytes: &[u8]) -> Result<Document, Error> {
    if bytes.trim_ascii().is_empty() {
        return Err(Error::Empty);
    }
    if let Some(tags) = bytes.strip_prefix(SENTINEL) {
        let mut reader = Reader::new(Tags::Binary(BinaryTags::new(tags)), bytes.len(), false);
        reader.document.header.binary = true;
        return reader.read();
    }
    foreign::refuse(bytes)?;
    let marked = bytes.strip_prefix(UTF8_MARK);
    let tags = Tags::Ascii(AsciiTags::new(marked.unwrap_or(bytes)));
    Reader::new(tags, bytes.len(), marked.is_some()).read()
}
