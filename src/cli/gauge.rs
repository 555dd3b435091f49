use std::path::PathBuf;

use clap::Args;

use super::{Exit, Failure, book, input, output};
use crate::gauge;
use crate::report;

/// `gauge READINGS.csv`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright gauge fixtures/shop/test-piece-readings.csv")]
pub struct GaugeArgs {
    /// What was read off a test piece, the CSV file that `test-piece` makes, filled in; `-` reads standard input
    readings: PathBuf,

    /// The shop's own book, laid over the built-in one
    #[arg(long, value_name = "FILE", value_hint = clap::ValueHint::FilePath)]
    book: Option<PathBuf>,

    /// Print JSON
    #[arg(long)]
    json: bool,

    /// Write what was gauged, a recipe for the shop's book, into this new file instead of printing it
    #[arg(short, long, value_name = "FILE", value_hint = clap::ValueHint::FilePath)]
    out: Option<PathBuf>,
}

impl GaugeArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book::load(self.book.as_deref())?;
        let input = input::read_log(&self.readings)?;
        let gauged = gauge::read_readings(&input.text, &book.gauging)
            .and_then(|readings| gauge::gauging(&book, &readings))
            .map_err(|source| Failure::Readings {
                file: self.readings.clone(),
                source,
            })?;
        let fragment = gauged.fragment(&book);
        if let Some(file) = &self.out {
            output::write_new(file, fragment.as_bytes())?;
        }
        let told = report::terminal::gauging(&gauged);
        if self.json {
            output::print_bytes(report::json::gauging(&gauged).as_bytes())?;
        } else {
            output::print_fragment(&fragment, &told, self.out.is_some())?;
        }
        Ok(Exit::Clean)
    }
}
