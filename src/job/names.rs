//! The names that a job gives to parts of the drawing: each has to stand for something there.

use std::fmt;

/// What a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum NameKind {
    /// A layer, by its name without case.
    Layer,
    /// A contour, by its number.
    Contour,
    /// A linetype, by its name without case.
    Linetype,
    /// A colour, by its number.
    Color,
}

impl NameKind {
    /// Returns the word for one of them.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Layer => "layer",
            Self::Contour => "contour",
            Self::Linetype => "linetype",
            Self::Color => "colour",
        }
    }
}

/// A name as a job gives it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub struct GivenName {
    /// What it names.
    pub kind: NameKind,
    /// As written.
    pub written: String,
}

impl GivenName {
    pub(super) fn new(kind: NameKind, written: &str) -> Self {
        let written = written.to_owned();
        Self { kind, written }
    }
}

impl fmt::Display for GivenName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.kind {
            NameKind::Contour | NameKind::Color => write!(f, "{} {}", self.kind.word(), self.written),
            NameKind::Layer | NameKind::Linetype => write!(f, "{} `{}`", self.kind.word(), self.written),
        }
    }
}
