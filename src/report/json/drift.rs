use serde::Serialize;

use super::SCHEMA;
use crate::calibrate::LogFlaw;
use crate::gauge::{Drift, RecipeDrift};

/// What `drift --json` prints.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct DriftDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// What walls were cut with, each with its chart.
    recipes: &'a [RecipeDrift],
    /// Lines of the log that could not be used.
    unusable: &'a [LogFlaw],
    /// How many lines hold no reading.
    without_reading: usize,
}

impl<'a> DriftDocument<'a> {
    pub(super) fn new(drift: &'a Drift) -> Self {
        Self {
            schema: SCHEMA,
            recipes: &drift.recipes,
            unusable: &drift.flaws,
            without_reading: drift.without_reading,
        }
    }
}
