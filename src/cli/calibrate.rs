use std::path::{Path, PathBuf};

use clap::Args;

use super::input::LARGEST_FILE_MB;
use super::{Exit, Failure, book, input, output};
use crate::calibrate::{self, Calibrated, LogFlaw, LogJob};
use crate::job::{Purpose, Purposes, Reading};
use crate::shop::Book;
use crate::{plan, report};

/// `calibrate LOG.csv`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright calibrate fixtures/shop/finished-jobs.csv")]
pub struct CalibrateArgs {
    /// The log of finished jobs, a CSV file with a heading row; `-` reads standard input
    log: PathBuf,

    /// The shop's own book, laid over the built-in one; calibrations in it are put aside
    #[arg(long, value_name = "FILE")]
    book: Option<PathBuf>,

    /// Print JSON
    #[arg(long)]
    json: bool,

    /// Write what was learned, a piece of a book, into this new file instead of printing it
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl CalibrateArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book::load(self.book.as_deref())?;
        let input = input::read(&self.log, LARGEST_FILE_MB)?;
        let text = String::from_utf8(input.bytes).map_err(|_| Failure::LogText {
            file: self.log.clone(),
        })?;
        let (mut jobs, flaws) = calibrate::read_log(text.trim_start_matches('\u{feff}'));
        let folder = self.log.parent().unwrap_or(Path::new(""));
        let unread = measure(&mut jobs, folder, &book);
        jobs.retain(|job| job.length_mm.is_some());
        let mut learned = calibrate::calibrate(&book, &jobs);
        learned.flaws.extend(flaws);
        learned.flaws.extend(unread);
        learned.flaws.sort_by_key(|flaw| flaw.line);
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
        let told = report::terminal::calibration(&learned);
        if self.json {
            output::print_bytes(report::json::calibration(&learned).as_bytes())?;
        } else if self.out.is_some() {
            output::print(&told)?;
        } else {
            // The piece of a book can go into a file by itself: what is said of it stands beside.
            output::tell(&told);
            output::print_bytes(fragment.as_bytes())?;
        }
        Ok(Exit::Clean)
    }
}

/// Takes the length of each job that names its drawing from the drawing, which stands relative to the log.
fn measure(jobs: &mut [LogJob], folder: &Path, book: &Book) -> Vec<LogFlaw> {
    let mut flaws = Vec::new();
    for job in jobs.iter_mut().filter(|job| job.length_mm.is_none()) {
        match job
            .drawing
            .as_deref()
            .map(|drawing| length_mm(&folder.join(drawing), book))
        {
            Some(Ok(mm)) => job.length_mm = Some(mm),
            Some(Err(reason)) => flaws.push(LogFlaw {
                line: job.line,
                reason,
            }),
            None => {}
        }
    }
    flaws
}

/// Perimeter of all that is cut in a drawing, mm.
fn length_mm(drawing: &Path, book: &Book) -> Result<f64, String> {
    let file = drawing.display();
    let input = input::read(drawing, LARGEST_FILE_MB).map_err(|failure| failure.to_string())?;
    let inspection = plan::inspect(
        &input.name,
        &input.bytes,
        &Reading::default(),
        &Purposes::default(),
        book,
    )
    .map_err(|error| format!("{file}: {error}"))?;
    let cut = inspection.contours.list.iter();
    let mm: f64 = cut
        .filter(|contour| contour.polyline.closed && contour.purpose == Purpose::Cut)
        .map(|contour| contour.perimeter_mm)
        .sum();
    if mm > 0.0 {
        Ok(mm)
    } else {
        Err(format!("{file}: nothing is to be cut"))
    }
}

fn reasons(learned: &Calibrated) -> Vec<String> {
    let refused = learned.refused.iter().map(|refused| {
        let (material, mm, kind) = (&refused.material, refused.wire_mm, &refused.wire_kind);
        format!("{material}, {mm} mm {kind}: {}", refused.reason)
    });
    let flaws = learned.flaws.iter().map(ToString::to_string);
    refused.chain(flaws).collect()
}
