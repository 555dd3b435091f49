use std::path::{Path, PathBuf};

use clap::builder::PossibleValue;
use clap::{Args, ValueEnum};

use super::input::LARGEST_FILE_MB;
use super::{Exit, Failure, book, input, output};
use crate::calibrate::{self, Calibrated, LogFlaw, LogJob};
use crate::estimate::Time;
use crate::message::{Message, message, mm};
use crate::plan::Planner;
use crate::report;
use crate::shop::{Book, MinutesHold};

/// `calibrate LOG.csv`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright calibrate fixtures/shop/finished-jobs.csv")]
pub struct CalibrateArgs {
    /// The log of finished jobs, a CSV file with a heading row; `-` reads standard input
    log: PathBuf,

    /// What the minutes of the log hold, where its column `minutes_hold` does not say it: `cutting` (the wire cuts), `machine` (start
    /// to end of the program) or `set-up-to-finished` (all of the job)
    #[arg(long, value_name = "WHAT", ignore_case = true)]
    minutes_hold: Option<MinutesHold>,

    /// The shop's own book, laid over the built-in one; calibrations in it are put aside
    #[arg(long, value_name = "FILE", value_hint = clap::ValueHint::FilePath)]
    book: Option<PathBuf>,

    /// Print JSON
    #[arg(long)]
    json: bool,

    /// Write what was learned, a piece of a book, into this new file instead of printing it
    #[arg(short, long, value_name = "FILE", value_hint = clap::ValueHint::FilePath)]
    out: Option<PathBuf>,

    /// Write estimate against actual of every job, worst first, with a picture, into this new HTML file
    #[arg(long, value_name = "FILE", value_hint = clap::ValueHint::FilePath)]
    report: Option<PathBuf>,
}

impl ValueEnum for MinutesHold {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        // With blanks too, as the log has it.
        Some(match self {
            Self::Cutting => PossibleValue::new("cutting"),
            Self::Machine => PossibleValue::new("machine"),
            Self::SetUpToFinished => PossibleValue::new("set-up-to-finished").aliases([
                "set-up to finished",
                "set up to finished",
                "set_up_to_finished",
            ]),
        })
    }
}

impl CalibrateArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book::load(self.book.as_deref())?;
        let input = input::read_log(&self.log)?;
        let mut log = calibrate::read_log(&input.text, self.minutes_hold);
        if log.leaves_minutes_open && log.flaws.is_empty() {
            return Err(Failure::MinutesOpen {
                file: self.log.clone(),
            });
        }
        let folder = self.log.parent().unwrap_or(Path::new(""));
        let unread = plan_drawings(&mut log.jobs, folder, &book.without_calibrations());
        let mut learned = calibrate::calibrate(&book, &log.jobs);
        learned.flaws.extend(log.flaws);
        learned.flaws.extend(unread);
        learned.flaws.sort_by_key(|flaw| flaw.line);
        learned.further = log.further;
        if learned.fits.is_empty() {
            return Err(Failure::NothingLearned {
                file: self.log.clone(),
                reasons: reasons(&learned),
            });
        }
        let fragment = learned.fragment(&book);
        if let Some(file) = &self.out {
            output::write_new(file, fragment.as_bytes())?;
        }
        if let Some(file) = &self.report {
            output::write_new(file, report::html::calibration(&learned, &input.name).as_bytes())?;
        }
        let told = report::terminal::calibration(&learned);
        if self.json {
            output::print_bytes(report::json::calibration(&learned).as_bytes())?;
        } else {
            output::print_fragment(&fragment, &told, self.out.is_some())?;
        }
        Ok(Exit::Clean)
    }
}

/// Plans each job that gives no length but its drawing, which stands relative to the log. Takes away those that cannot be
/// planned.
fn plan_drawings(jobs: &mut Vec<LogJob>, folder: &Path, book: &Book) -> Vec<LogFlaw> {
    let mut flaws = Vec::new();
    jobs.retain_mut(|job| {
        let Some(drawing) = job.drawing.as_ref().filter(|_| job.length_mm.is_none()) else {
            return true;
        };
        match planned(&folder.join(drawing), job, book) {
            Ok(time) => job.planned = Some(time),
            Err(reason) => flaws.push(LogFlaw {
                line: job.line,
                reason,
            }),
        }
        job.planned.is_some()
    });
    flaws
}

/// All terms of time of a drawing.
fn planned(drawing: &Path, job: &LogJob, book: &Book) -> Result<Time, String> {
    let file = drawing.display();
    let input = input::read(drawing, LARGEST_FILE_MB).map_err(|failure| failure.to_string())?;
    let plan = Planner::new(book)
        .job(&job.request(book).job())
        .plan(&input.name, input.bytes);
    let plan = plan.map_err(|error| format!("{file}: {error}"))?;
    let why = plan.reasons_without_totals().join("; ");
    let time = plan.estimate.time;
    time.ok_or_else(|| format!("{file}: there is no total ({why}); give its `length_mm` instead"))
}

fn reasons(learned: &Calibrated) -> Vec<Message> {
    let refused = learned.refused.iter().map(|refused| {
        let (material, kind) = (&refused.material, &refused.wire_kind);
        message!(
            "{}, {} {}: {}",
            material,
            mm(refused.wire_mm),
            kind,
            refused.reason.to_string()
        )
    });
    let flaws = learned.flaws.iter().map(|flaw| flaw.to_string().into());
    refused.chain(flaws).collect()
}
