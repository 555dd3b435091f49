use std::fmt;

/// The text that a flaw is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum FlawSource {
    /// The book that comes with the program.
    BuiltIn,
    /// The shop's own book.
    Own,
}

/// An error in a book.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Flaw {
    /// Which text.
    pub origin: FlawSource,
    /// Line in that text, from 1.
    pub line: usize,
    /// The entry, such as `material.tool-steel.rate_mm2_min`; empty for a flaw of the text itself.
    pub entry: String,
    /// What is wrong and what would be right, in words.
    pub reason: String,
}

impl fmt::Display for Flaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = match self.origin {
            FlawSource::BuiltIn => "built-in book",
            FlawSource::Own => "book",
        };
        if self.entry.is_empty() {
            write!(f, "{text}, line {}: {}", self.line, self.reason)
        } else {
            write!(f, "{text}, line {}: {}: {}", self.line, self.entry, self.reason)
        }
    }
}

/// All errors in a book, in order of lines.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", self.0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
#[non_exhaustive]
pub struct Flaws(pub Vec<Flaw>);
