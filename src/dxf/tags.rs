//! The tags of a file, ASCII or binary.

use super::Error;
use super::ascii::AsciiTags;
use super::binary::BinaryTags;
use super::tag::Tag;

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
