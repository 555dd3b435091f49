use serde::Serialize;

use super::SCHEMA;
use crate::shop::Listed;

/// What `book show --json` prints.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct NumbersDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// Every number in force, or those whose entry holds the word asked for.
    numbers: &'a [Listed<'a>],
}

impl<'a> NumbersDocument<'a> {
    pub(super) fn new(listed: &'a [Listed<'a>]) -> Self {
        Self {
            schema: SCHEMA,
            numbers: listed,
        }
    }
}
