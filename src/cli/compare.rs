use std::path::PathBuf;

use clap::{Args, ValueHint};

use super::demand::DemandArgs;
use super::display::DisplayArgs;
use super::job_keys::OUTPUT;
use super::reading::ReadingArgs;
use super::results::{DrawingDigest, OverwriteArgs};
use super::{Exit, Failure, book, input, output};
use crate::plan::Planner;
use crate::report;

/// `compare FILE …`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: kerfwright compare fixtures/clock/ratchet.dxf --thickness 8 --material tool-steel \
                  --finish N6 --out plans"
)]
pub struct CompareArgs {
    /// The drawing, a DXF file, or a job file in TOML; `-` reads a drawing from standard input
    file: PathBuf,

    #[command(flatten)]
    demand: DemandArgs,

    #[command(flatten)]
    reading: ReadingArgs,

    #[command(flatten)]
    pub(super) display: DisplayArgs,

    /// Print JSON
    #[arg(long, conflicts_with_all = ["svg", "csv"], help_heading = OUTPUT)]
    json: bool,

    /// Print a table in CSV
    #[arg(long, conflicts_with = "svg", help_heading = OUTPUT)]
    csv: bool,

    /// Print the chart of time against finish as SVG
    #[arg(long, help_heading = OUTPUT)]
    svg: bool,

    /// Write chart, JSON and CSV into this folder
    #[arg(short, long, value_name = "DIR", value_hint = ValueHint::DirPath, help_heading = OUTPUT)]
    out: Option<PathBuf>,

    #[command(flatten)]
    over: OverwriteArgs,
}

impl CompareArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book::load(self.demand.book())?;
        let order = self.demand.order(&self.file, &self.reading)?;
        let input = input::read(&order.drawing, self.reading.largest_file)?;
        let digest = DrawingDigest::of(&order.drawing, &input);
        let comparison = Planner::new(&book)
            .job(&order.job)
            .compare(&input.name, &input.bytes)
            .map_err(|error| Failure::of_plan(&order.drawing, error))?;
        if let Some(folder) = &self.out {
            let stem = output::stem(&input.name);
            let files = [
                (
                    format!("{stem}-compare.svg"),
                    report::svg::comparison(&comparison),
                ),
                (
                    format!("{stem}-compare.json"),
                    report::json::comparison(&comparison),
                ),
                (
                    format!("{stem}-compare.csv"),
                    report::csv::comparison(&comparison),
                ),
            ];
            let files = files.map(|(name, text)| (name, output::bytes(text)));
            self.over.write(folder, &digest, files.into())?;
        }
        if self.json {
            output::print_bytes(report::json::comparison(&comparison).as_bytes())?;
        } else if self.csv {
            output::print_bytes(report::csv::comparison(&comparison).as_bytes())?;
        } else if self.svg {
            output::print_bytes(report::svg::comparison(&comparison).as_bytes())?;
        } else {
            output::print(&report::terminal::comparison(&comparison, self.display.lengths))?;
        }
        Ok(match &comparison.chosen {
            Some(plan) => Exit::of(&plan.inspection.findings),
            None => Exit::Findings,
        })
    }
}
