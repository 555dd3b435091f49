use clap::Args;

use super::{Exit, Failure, output};
use crate::report;
use crate::report::json::SCHEMAS;
use crate::shop::nearest;

/// `schema NAME`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright schema plan")]
pub struct SchemaArgs {
    /// Name of the output; left out, every output is listed
    name: Option<String>,
}

impl SchemaArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        match &self.name {
            None => output::print(&report::terminal::schemas())?,
            Some(name) => {
                let schema = SCHEMAS.iter().find(|schema| schema.name == name);
                let schema = schema.ok_or_else(|| Failure::UnknownSchema {
                    name: name.clone(),
                    nearest: nearest(name, SCHEMAS.iter().map(|schema| schema.name)),
                })?;
                output::print_bytes(schema.text.as_bytes())?;
            }
        }
        Ok(Exit::Clean)
    }
}
