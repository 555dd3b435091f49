use std::path::PathBuf;

use clap::Args;

use super::{Exit, Failure, input, output};
use crate::gauge::{drift, read_drift_log};
use crate::message::Message;
use crate::report;

/// `drift LOG.csv`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright drift fixtures/shop/wall-readings.csv")]
pub struct DriftArgs {
    /// The log of readings on finished walls, a CSV file with a heading row; `-` reads standard input
    log: PathBuf,

    /// Print JSON
    #[arg(long, conflicts_with = "svg")]
    json: bool,

    /// Print the charts as SVG
    #[arg(long)]
    svg: bool,

    /// Write charts and points into this new HTML file
    #[arg(long, value_name = "FILE", value_hint = clap::ValueHint::FilePath)]
    report: Option<PathBuf>,
}

impl DriftArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let input = input::read_log(&self.log)?;
        let found = drift(read_drift_log(&input.text));
        if found.recipes.is_empty() {
            let flaws = found.flaws.iter().map(|flaw| Message::from(flaw.to_string()));
            return Err(Failure::NoReadings {
                file: self.log.clone(),
                reasons: flaws.collect(),
            });
        }
        if let Some(file) = &self.report {
            output::write_new(file, report::html::drift(&found, &input.name).as_bytes())?;
        }
        if self.json {
            output::print_bytes(report::json::drift(&found).as_bytes())?;
        } else if self.svg {
            output::print_bytes(report::svg::control_charts(&found).as_bytes())?;
        } else {
            output::print(&report::terminal::drift(&found))?;
        }
        Ok(Exit::Clean)
    }
}
