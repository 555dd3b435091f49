use std::path::PathBuf;

use clap::Args;

use super::input::LARGEST_FILE_MB;
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
        let input = input::read(&self.readings, LARGEST_FILE_MB)?;
        let file = || self.readings.clone();
        let text = String::from_utf8(input.bytes).map_err(|_| Failure::LogText { file: file() })?;
        let gauged = gauge::read_readings(&text, &book.gauging)
            .and_then(|readings| gauge::gauging(&book, &readings))
            .map_err(|source| Failure::Readings { file: file(), source })?;
        let fragment = gauged.fragment(&book);
        if let Some(file) = &self.out {
            output::write_new(file, fragment.as_bytes())?;
        }
        let told = report::terminal::gauging(&gauged);
        if self.json {
            output::print_bytes(report::json::gauging(&gauged).as_bytes())?;
        } else if self.out.is_some() {
            output::print(&told)?;
        } else {
            // The piece of a book can go into a file alone: what is said of it goes to standard error.
            output::tell(&told);
            output::print_bytes(fragment.as_bytes())?;
        }
        Ok(Exit::Clean)
    }
}
