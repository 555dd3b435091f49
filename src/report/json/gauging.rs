use serde::Serialize;

use super::SCHEMA;
use crate::gauge::Gauging;

/// What `gauge --json` prints.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct GaugingDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// What the piece says.
    #[serde(flatten)]
    gauging: &'a Gauging,
}

impl<'a> GaugingDocument<'a> {
    pub(super) const fn new(gauging: &'a Gauging) -> Self {
        Self {
            schema: SCHEMA,
            gauging,
        }
    }
}
