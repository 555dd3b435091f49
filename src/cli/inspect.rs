use std::path::PathBuf;

use clap::Args;

use super::reading::ReadingArgs;
use super::{Exit, Failure, input, output};
use crate::{plan, report};

/// `inspect FILE`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright inspect fixtures/clock/ratchet.dxf --layer PIVOT=existing")]
pub struct Inspect {
    /// The drawing, a DXF file; `-` reads standard input
    file: String,

    #[command(flatten)]
    reading: ReadingArgs,

    /// Print JSON
    #[arg(long, conflicts_with = "svg")]
    json: bool,

    /// Print the drawing sheet as SVG
    #[arg(long)]
    svg: bool,

    /// Write the sheet and the JSON into this folder
    #[arg(short, long, value_name = "DIR")]
    out: Option<PathBuf>,
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
        .map_err(|error| Failure::of_plan(&self.file, error))?;
        if let Some(folder) = &self.out {
            let sheet = report::svg::inspection(&inspection);
            output::write_results(folder, &input.name, sheet, report::json::inspection(&inspection))?;
        }
        let text = if self.json {
            report::json::inspection(&inspection)
        } else if self.svg {
            report::svg::inspection(&inspection)
        } else {
            report::terminal::inspection(&inspection)
        };
        output::print(&text)?;
        Ok(Exit::of(&inspection.findings))
    }
}
