use serde::Serialize;

use super::SCHEMA;
use crate::shop::{Listed, Number};

/// What `book show --json` prints.
#[derive(Serialize)]
pub(super) struct NumbersDocument<'a> {
    schema: u32,
    numbers: Vec<NumberRow<'a>>,
}

#[derive(Serialize)]
struct NumberRow<'a> {
    /// The unit is in the name.
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
