use serde::Serialize;

use super::SCHEMA;
use crate::job::JobFile;

/// What a job file asks, as the page reads it back.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct JobDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// Its keys, null where the file leaves something to the book.
    job: &'a JobFile,
}

impl<'a> JobDocument<'a> {
    pub(super) fn new(job: &'a JobFile) -> Self {
        Self { schema: SCHEMA, job }
    }
}
