use serde::Serialize;

use super::SCHEMA;
use crate::shop::{Listed, Number};

/// What `book show --json` prints.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct NumbersDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// Every number in force, or those whose entry holds the word asked for.
    numbers: Vec<NumberRow<'a>>,
}

/// A number of the book.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct NumberRow<'a> {
    /// Where it stands in the book, with dots. The unit is in the name.
    entry: &'a str,
    #[serde(flatten)]
    number: &'a Number,
}

impl<'a> NumbersDocument<'a> {
    pub(super) fn new(listed: &'a [Listed<'a>]) -> Self {
        let row = |listed: &'a Listed<'a>| NumberRow {
            entry: &listed.entry,
            number: listed.number,
        };
        Self {
            schema: SCHEMA,
            numbers: listed.iter().map(row).collect(),
        }
    }
}
