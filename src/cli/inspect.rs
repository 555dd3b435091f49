use clap::Args;

use super::reading::ReadingArgs;
use super::{Exit, Failure, input, output};
use crate::{plan, report};

/// `inspect FILE`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright inspect fixtures/click.dxf --layer FRAME=ignore")]
pub struct Inspect {
    /// The drawing, a DXF file; `-` reads standard input
    file: String,

    #[command(flatten)]
    reading: ReadingArgs,

    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl Inspect {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let input = input::read(&self.file)?;
        let inspection = plan::inspect(
            &input.name,
            &input.bytes,
            &self.reading.reading(),
            &self.reading.uses(),
        )
        .map_err(|source| Failure::Plan {
            file: self.file.clone(),
            source,
        })?;
        let text = if self.json {
            report::json::inspection(&inspection)
        } else {
            report::terminal::inspection(&inspection)
        };
        output::print(&text)?;
        Ok(Exit::of(&inspection.findings))
    }
}
