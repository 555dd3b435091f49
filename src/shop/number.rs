use serde::Serialize;

use crate::units::Band;

/// How far a number can be trusted, best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Basis {
    /// Asked for by the user, or geometry: nothing to doubt.
    Given,
    /// Measured or set by the shop itself.
    Shop,
    /// Read in the published source named.
    Published,
    /// From memory, not verified in a document.
    Memory,
    /// Common practice of the trade, no source.
    Practice,
    /// An estimate of ours, to be replaced by the shop's own data.
    Default,
}

impl Basis {
    /// Returns the word that a book uses for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Given => "given",
            Self::Shop => "shop",
            Self::Published => "published",
            Self::Memory => "memory",
            Self::Practice => "practice",
            Self::Default => "default",
        }
    }

    /// Returns the basis of that word; `given` is no word of a book.
    pub fn from_word(word: &str) -> Option<Self> {
        [
            Self::Shop,
            Self::Published,
            Self::Memory,
            Self::Practice,
            Self::Default,
        ]
        .into_iter()
        .find(|basis| basis.word() == word)
    }
}

/// A number of the book: what it is, how far it may be off, and where it comes from.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct Number {
    /// Its value and band, in the unit of the field that holds it.
    #[serde(flatten)]
    pub band: Band,
    /// How far it can be trusted.
    pub basis: Basis,
    /// Where it comes from, in words.
    pub source: String,
}

impl Number {
    /// Returns the expected value.
    pub const fn value(&self) -> f64 {
        self.band.expected
    }

    /// Makes a number that the user gave: exact.
    pub fn given(value: f64) -> Self {
        Self {
            band: Band::exact(value),
            basis: Basis::Given,
            source: "given".to_owned(),
        }
    }
}
