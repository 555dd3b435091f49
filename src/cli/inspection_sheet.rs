use std::path::PathBuf;

use clap::{Args, ValueHint};

use super::demand::DemandArgs;
use super::display::DisplayArgs;
use super::job_keys::OUTPUT;
use super::reading::ReadingArgs;
use super::results::{DrawingDigest, OverwriteArgs};
use super::{Exit, Failure, book, input, output};
use crate::gauge::ProbeOptions;
use crate::plan::Planner;
use crate::report;

/// `inspection-sheet FILE …`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: kerfwright inspection-sheet fixtures/clock/ratchet.dxf --thickness 8 --material tool-steel \
                  --wire 0.25 --passes 3 --out plans"
)]
pub struct InspectionSheetArgs {
    /// The drawing, a DXF file, or a job file in TOML; `-` reads a drawing from standard input
    file: PathBuf,

    #[command(flatten)]
    demand: DemandArgs,

    #[command(flatten)]
    reading: ReadingArgs,

    #[command(flatten)]
    pub(super) display: DisplayArgs,

    /// Largest distance of two points of the measuring machine along a wall, mm
    #[arg(long, value_name = "MM", default_value_t = ProbeOptions::default().spacing_mm, value_parser = length_mm, value_hint = ValueHint::Other, help_heading = OUTPUT)]
    spacing: f64,

    /// Diameter of the ball of its probe, mm
    #[arg(long, value_name = "MM", default_value_t = ProbeOptions::default().ball_mm, value_parser = length_mm, value_hint = ValueHint::Other, help_heading = OUTPUT)]
    ball: f64,

    /// Print JSON
    #[arg(long, conflicts_with_all = ["svg", "csv"], help_heading = OUTPUT)]
    json: bool,

    /// Print the sizes as CSV, with an empty column for the readings
    #[arg(long, conflicts_with = "svg", help_heading = OUTPUT)]
    csv: bool,

    /// Print the part with its sizes and points as SVG
    #[arg(long, help_heading = OUTPUT)]
    svg: bool,

    /// Write the sheet as HTML, its sizes and the points as CSV, and JSON into this folder
    #[arg(short, long, value_name = "DIR", value_hint = ValueHint::DirPath, help_heading = OUTPUT)]
    out: Option<PathBuf>,

    #[command(flatten)]
    over: OverwriteArgs,
}

/// Reads a length of a probe or between points.
fn length_mm(text: &str) -> Result<f64, String> {
    const SMALLEST: f64 = 0.01;
    const LARGEST: f64 = 1000.0;
    let mm = text
        .parse::<f64>()
        .ok()
        .filter(|mm| (SMALLEST..=LARGEST).contains(mm));
    mm.ok_or_else(|| format!("give millimetres, {SMALLEST} to {LARGEST}"))
}

impl InspectionSheetArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book::load(self.demand.book())?;
        let order = self.demand.order(&self.file, &self.reading)?;
        let input = input::read(&order.drawing, self.reading.largest_file)?;
        let digest = DrawingDigest::of(&order.drawing, &input);
        let plan = Planner::new(&book)
            .job(&order.job)
            .plan(&input.name, input.bytes)
            .map_err(|error| Failure::of_plan(&order.drawing, error))?;
        let sheet = plan.inspection_sheet(ProbeOptions {
            spacing_mm: self.spacing,
            ball_mm: self.ball,
        });
        if let Some(folder) = &self.out {
            let stem = output::stem(&input.name);
            let files = [
                ("inspection.html", report::html::inspection_sheet(&plan, &sheet)),
                ("inspection.csv", report::csv::sizes(&sheet)),
                ("inspection-points.csv", report::csv::probe_points(&sheet)),
                ("inspection.json", report::json::inspection_sheet(&plan, &sheet)),
            ];
            let files = files.map(|(name, text)| (format!("{stem}-{name}"), output::bytes(text)));
            self.over.write(folder, &digest, files.into())?;
        }
        if self.json {
            output::print_bytes(report::json::inspection_sheet(&plan, &sheet).as_bytes())?;
        } else if self.csv {
            output::print_bytes(report::csv::sizes(&sheet).as_bytes())?;
        } else if self.svg {
            output::print_bytes(report::svg::inspection_sheet(&plan, &sheet).as_bytes())?;
        } else {
            output::print(&report::terminal::inspection_sheet(
                &plan,
                &sheet,
                self.display.lengths,
            ))?;
        }
        Ok(Exit::of(&plan.inspection.findings))
    }
}
