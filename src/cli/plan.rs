use std::path::PathBuf;

use clap::{Args, ValueHint};

use super::demand::{DemandArgs, JobInput};
use super::display::{CoverageArgs, DisplayArgs};
use super::job_keys::OUTPUT;
use super::output::{FileContent, Format};
use super::reading::ReadingArgs;
use super::results::{DrawingDigest, OverwriteArgs};
use super::{Exit, Failure, book, input, output};
use crate::plan::{Plan, Planner};
use crate::report::dxf::CautionText;
use crate::report::{self, Coverage};

/// `plan FILE …`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: kerfwright plan fixtures/clock/ratchet.dxf --thickness 8 --material tool-steel \
                  --wire 0.25 --passes 3 --out plans"
)]
pub struct PlanArgs {
    /// The drawing, a DXF file, or a job file in TOML; `-` reads a drawing from standard input
    file: PathBuf,

    #[command(flatten)]
    demand: DemandArgs,

    #[command(flatten)]
    reading: ReadingArgs,

    #[command(flatten)]
    pub(super) display: DisplayArgs,

    #[command(flatten)]
    coverage: CoverageArgs,

    /// Print JSON
    #[arg(long, conflicts_with = "svg", help_heading = OUTPUT)]
    json: bool,

    /// Print the drawing sheet as SVG
    #[arg(long, help_heading = OUTPUT, hide_short_help = true)]
    svg: bool,

    /// Print formula, terms, source and basis of every figure
    #[arg(long, conflicts_with_all = ["json", "svg"], help_heading = OUTPUT, hide_short_help = true)]
    explain_numbers: bool,

    /// Try what would make the expected error smaller, each with what it brings and costs
    #[arg(long, help_heading = OUTPUT, hide_short_help = true)]
    what_helps: bool,

    /// Write the results into this folder
    #[arg(short, long, value_name = "DIR", value_hint = ValueHint::DirPath, help_heading = OUTPUT)]
    out: Option<PathBuf>,

    #[command(flatten)]
    over: OverwriteArgs,

    /// What to write there
    #[arg(long, value_name = "FORMATS", value_delimiter = ',', default_values = ["svg", "json", "dxf", "html"],
          help_heading = OUTPUT, hide_short_help = true)]
    formats: Vec<Format>,

    /// Leave the cautions out of the DXF of the paths, where a reader takes no texts: they stand on the layer "caution - do not cut"
    #[arg(long, help_heading = OUTPUT, hide_short_help = true)]
    no_caution_text: bool,
}

impl PlanArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book::load(self.demand.book())?;
        let order = self.demand.order(&self.file, &self.reading)?;
        let input = input::read(&order.drawing, self.reading.largest_file)?;
        let digest = DrawingDigest::of(&order.drawing, &input);
        let failed = |error| Failure::of_plan(&order.drawing, error);
        let mut plan = Planner::new(&book)
            .job(&order.job)
            .plan(&input.name, input.bytes)
            .map_err(failed)?;
        if self.what_helps {
            plan.remedies = Some(plan.remedies().map_err(failed)?);
        }
        if let Some(folder) = &self.out {
            let files = self.files(&input.name, &plan, &order)?;
            self.over.write(folder, &digest, files)?;
        }
        if self.json {
            output::print_written(|out| report::json::write_plan(&plan, out))?;
        } else if self.svg {
            output::print_written(|out| report::svg::write_plan(&plan, self.display.lengths, out))?;
        } else if self.explain_numbers {
            output::print(&report::terminal::figures(&plan))?;
        } else {
            output::print(&report::terminal::plan(
                &plan,
                self.coverage.coverage(),
                self.display.lengths,
            ))?;
        }
        Ok(if plan.reaches_demand() {
            Exit::of(&plan.inspection.findings)
        } else {
            Exit::Findings
        })
    }
}

impl PlanArgs {
    /// Returns the chosen results, each with its name.
    fn files<'a>(
        &self,
        name: &str,
        plan: &'a Plan,
        order: &JobInput,
    ) -> Result<Vec<(String, FileContent<'a>)>, Failure> {
        let file = |format: &Format| {
            let content: FileContent<'a> = match format {
                Format::Svg => {
                    let lengths = self.display.lengths;
                    Box::new(move |out| report::svg::write_plan(plan, lengths, out))
                }
                Format::Json => Box::new(|out| report::json::write_plan(plan, out)),
                Format::Html => {
                    let is_full = self.coverage.coverage() == Coverage::Full;
                    let alternatives = is_full.then(|| plan.alternatives()).transpose();
                    let alternatives =
                        alternatives.map_err(|error| Failure::of_plan(&order.drawing, error))?;
                    Box::new(move |out| report::html::write_plan(plan, alternatives.as_ref(), out))
                }
                Format::Dxf => {
                    let caution = if self.no_caution_text {
                        CautionText::LeftOut
                    } else {
                        CautionText::Written
                    };
                    Box::new(move |out| report::dxf::write_plan(plan, caution, out))
                }
            };
            Ok((format.file_name(name), content))
        };
        self.formats.iter().map(file).collect()
    }
}
