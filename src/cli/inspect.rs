use std::fs;
use std::path::{self, Component, Path, PathBuf};

use clap::{Args, ValueHint};

use super::display::{CoverageArgs, DisplayArgs};
use super::job_keys::{OUTPUT, heading};
use super::output::{FileContent, Format};
use super::reading::ReadingArgs;
use super::results::{DrawingDigest, OverwriteArgs};
use super::{Exit, Failure, input, output};
use crate::job::{JobFile, KeyGroup};
use crate::plan::Planner;
use crate::report;

/// `inspect FILE`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright inspect fixtures/clock/ratchet.dxf --layer PIVOT=existing")]
pub struct InspectArgs {
    /// The drawing, a DXF file; `-` reads standard input
    file: PathBuf,

    /// The shop's own book, laid over the built-in one: its wires are what small places are held against
    #[arg(short, long, value_name = "FILE", value_hint = ValueHint::FilePath, help_heading = heading(KeyGroup::Shop))]
    book: Option<PathBuf>,

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
    #[arg(long, help_heading = OUTPUT)]
    svg: bool,

    /// Write the sheet and the JSON into this folder
    #[arg(short, long, value_name = "DIR", value_hint = ValueHint::DirPath, help_heading = OUTPUT)]
    out: Option<PathBuf>,

    #[command(flatten)]
    over: OverwriteArgs,

    /// Write a job file with this reading and what is open, to be edited and planned; a file that is there already stays
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath, help_heading = OUTPUT)]
    write_job: Option<PathBuf>,
}

impl InspectArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let input = input::read(&self.file, self.reading.largest_file)?;
        let digest = DrawingDigest::of(&self.file, &input);
        let book = super::book::load(self.book.as_deref())?;
        let job = self.reading.merge_into(JobFile::default());
        let inspection = Planner::new(&book)
            .job(&job)
            .inspect(&input.name, input.bytes)
            .map_err(|error| Failure::of_plan(&self.file, error))?;
        if let Some(file) = &self.write_job {
            let text = report::reading_job(&inspection, &job, &self.drawing_from(file)?)?;
            output::write_new(file, text.as_bytes())?;
        }
        if let Some(folder) = &self.out {
            let svg: FileContent<'_> =
                Box::new(|out| report::svg::write_inspection(&inspection, self.display.lengths, out));
            let json: FileContent<'_> = Box::new(|out| report::json::write_inspection(&inspection, out));
            let files = [(Format::Svg, svg), (Format::Json, json)];
            let files = files.map(|(format, content)| (format.file_name(&input.name), content));
            self.over.write(folder, &digest, files.into())?;
        }
        if self.json {
            output::print_written(|out| report::json::write_inspection(&inspection, out))?;
        } else if self.svg {
            output::print_written(|out| {
                report::svg::write_inspection(&inspection, self.display.lengths, out)
            })?;
        } else {
            output::print(&report::terminal::inspection(
                &inspection,
                self.coverage.coverage(),
                self.display.lengths,
            ))?;
        }
        Ok(Exit::of(&inspection.findings))
    }
}

impl InspectArgs {
    /// Returns the path of the drawing from the folder of a job file, as the file has to name it.
    fn drawing_from(&self, job_file: &Path) -> Result<String, Failure> {
        let refused = || Failure::DrawingUnnamed {
            file: self.file.clone(),
        };
        if self.file.as_os_str() == "-" {
            return Err(refused());
        }
        let whole = |path: &Path| {
            fs::canonicalize(path).map_err(|source| Failure::Output {
                path: job_file.into(),
                source,
            })
        };
        let folder = whole(output::folder_of(job_file))?;
        let drawing = whole(&self.file)?;
        let shared = folder
            .components()
            .zip(drawing.components())
            .take_while(|(a, b)| a == b)
            .count();
        if shared == 0 {
            // On another drive of Windows, to which no way leads from here.
            let whole = path::absolute(&self.file).map_err(|source| Failure::Output {
                path: job_file.into(),
                source,
            })?;
            return Ok(whole.to_str().ok_or_else(refused)?.replace('\\', "/"));
        }
        let up = folder.components().skip(shared).map(|_| Component::ParentDir);
        let path: PathBuf = up.chain(drawing.components().skip(shared)).collect();
        // A job file may go to another system: both take the slash.
        let parts: Option<Vec<&str>> = path.iter().map(|part| part.to_str()).collect();
        Ok(parts.ok_or_else(refused)?.join("/"))
    }
}
