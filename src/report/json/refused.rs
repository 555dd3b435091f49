use serde::Serialize;

use super::PAGE_SCHEMA;

/// Why something that was asked of the page is not answered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "Refused"))]
#[non_exhaustive]
pub struct RefusedAnswer {
    /// What is wrong, one sentence.
    pub sentence: String,
    /// What to do about it; may be empty.
    pub remedy: String,
    /// The key of the job file that it is about, or `drawing`, `job` or `page`.
    pub about: &'static str,
    /// What the job names and the drawing does not have.
    pub names: Vec<NameRow>,
}

/// A name that stands for nothing in the drawing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct NameRow {
    /// `layer`, `contour`, `linetype` or `color`, as the job file has it.
    pub key: &'static str,
    /// As given.
    pub written: String,
}

/// What the page answers to a request that it refuses.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct RefusedDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = PAGE_SCHEMA)))]
    schema: u32,
    /// Why.
    refused: &'a RefusedAnswer,
}

impl<'a> RefusedDocument<'a> {
    pub(super) fn new(refused: &'a RefusedAnswer) -> Self {
        Self {
            schema: PAGE_SCHEMA,
            refused,
        }
    }
}
