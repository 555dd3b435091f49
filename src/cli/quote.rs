//! `quote PATH …`: many drawings, one table.

mod drawings;
mod table;

use std::fmt::Write as _;
use std::io::{self, IsTerminal as _};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use clap::{Args, ValueHint};
use indicatif::{ProgressBar, ProgressStyle};
use rayon::iter::{ParallelBridge as _, ParallelIterator as _};
use rayon::{ThreadPool, ThreadPoolBuilder};

use self::drawings::NamedDrawing;
use self::table::{Earlier, Layout, Table};
use super::demand::DemandArgs;
use super::display::DisplayArgs;
use super::input::file_bytes;
use super::job_keys::OUTPUT;
use super::reading::ReadingArgs;
use super::{Exit, Failure, book, output};
use crate::contour::MissingName;
use crate::job::JobFile;
use crate::pass;
use crate::plan::{self, Planner};
use crate::report::quote::{Keys, QuoteRow, Sums};
use crate::report::{self, plain};
use crate::shop::Book;

/// `quote PATH… …`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: kerfwright quote fixtures/clock/ratchet.dxf fixtures/clock/hand-punch.dxf --thickness 8 \
                  --material tool-steel --finish N7 --out quote.csv"
)]
pub struct QuoteArgs {
    /// Drawings, folders of them, patterns such as `parts/*.dxf`, job files in TOML, tables in CSV with a column `file` and
    /// columns named as the keys of a job file, or `-` for a list of paths on standard input
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,

    #[command(flatten)]
    demand: DemandArgs,

    #[command(flatten)]
    reading: ReadingArgs,

    /// Write the rows into this table, .csv or .jsonl; rows that stand there already are kept if they still hold, or are of drawings not named
    /// this time
    #[arg(short, long, value_name = "TABLE", value_hint = ValueHint::FilePath, help_heading = OUTPUT)]
    out: Option<PathBuf>,

    /// Take rows of drawings that are not named this time out of the table
    #[arg(long, requires = "out", help_heading = OUTPUT)]
    only: bool,

    #[command(flatten)]
    pub(super) display: DisplayArgs,

    /// Print JSON, one line a drawing
    #[arg(long, conflicts_with = "out", help_heading = OUTPUT)]
    json: bool,

    /// Put the rows in the order of the drawings, not as they are done
    #[arg(long, help_heading = OUTPUT, hide_short_help = true)]
    in_order: bool,

    /// Drawings worked on at once [default: as many as there are cores]
    #[arg(long, value_name = "N", value_hint = ValueHint::Other, help_heading = OUTPUT, hide_short_help = true)]
    workers: Option<usize>,
}

/// The result of a worker.
struct Done {
    /// Its place among the drawings.
    at: usize,
    row: QuoteRow,
    /// It stood in the table already.
    kept: bool,
}

impl QuoteArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        match self.quote() {
            // Whoever read the rows went away early (`| head`).
            Err(Failure::Stdout(error)) if error.kind() == io::ErrorKind::BrokenPipe => Ok(Exit::Clean),
            done => done,
        }
    }

    fn quote(&self) -> Result<Exit, Failure> {
        let book = book::load(self.demand.book())?;
        let wanted = drawings::named_drawings(&self.paths, &self.demand, &self.reading)?;
        validate_batch(&wanted, &book)?;
        let largest_mb = self.reading.largest_file;
        validate_shared_names(&wanted, largest_mb)?;
        let pool = pool(self.workers)?;
        let mut table = match &self.out {
            Some(path) => Table::open(path, self.display.lengths, self.in_order, largest_mb)?,
            None => Table::print(
                if self.json {
                    Layout::Json
                } else {
                    Layout::Csv(self.display.lengths)
                },
                self.in_order,
            )?,
        };
        let began = Instant::now();
        let bar = self.bar(wanted.len());
        let sums = rows(&pool, &wanted, &book, &mut table, &bar, largest_mb)?;
        bar.finish_and_clear();
        let named = wanted.iter().map(|wanted| plain(&wanted.file)).collect();
        let earlier = table.finish(&named, self.only)?;
        output::tell(&report::terminal::quote(&sums, self.display.lengths));
        output::tell(&pace(sums.rows(), &earlier, began.elapsed()));
        let clean = sums.refused + sums.nearest + sums.to_be_settled + sums.with_errors == 0;
        Ok(if clean { Exit::Clean } else { Exit::Findings })
    }

    fn bar(&self, drawings: usize) -> ProgressBar {
        // Rows that are printed to the same terminal would be torn by it.
        if self.out.is_none() && io::stdout().is_terminal() {
            return ProgressBar::hidden();
        }
        let style = ProgressStyle::with_template("{wide_bar} {pos} of {len} drawings, {eta} left");
        ProgressBar::new(drawings as u64).with_style(style.expect("a sound template"))
    }
}

/// Computes all rows and adds each to the table as it is done.
fn rows(
    pool: &ThreadPool,
    wanted: &[NamedDrawing],
    book: &Book,
    table: &mut Table,
    bar: &ProgressBar,
    largest_mb: u64,
) -> Result<Sums, Failure> {
    let (keys, held) = (Keys::new(book), table.held());
    let (send, receive) = mpsc::channel();
    let mut sums = Sums::default();
    thread::scope(|scope| {
        scope.spawn(move || {
            pool.install(|| {
                // Ends early, without a word, when the table cannot take rows any more: the table says why.
                let _ =
                    wanted
                        .iter()
                        .enumerate()
                        .par_bridge()
                        .try_for_each_with(send, |send, (at, wanted)| {
                            log::trace!("{}", wanted.file);
                            let (row, kept) = row(wanted, book, &keys, &held, largest_mb);
                            log::info!("{}", wanted.file);
                            send.send(Done { at, row, kept }).map_err(drop)
                        });
            });
        });
        for done in receive {
            bar.inc(1);
            sums.add(&done.row);
            table.take(&done)?;
        }
        Ok::<(), Failure>(())
    })?;
    Ok(sums)
}

fn pool(workers: Option<usize>) -> Result<ThreadPool, Failure> {
    if workers == Some(0) {
        return Err(Failure::NoWorkers);
    }
    let pool = ThreadPoolBuilder::new().num_threads(workers.unwrap_or(0)).build();
    pool.map_err(|error| Failure::Workers(error.to_string()))
}

/// Reports once, before any drawing is read, what would refuse every drawing.
fn validate_batch(wanted: &[NamedDrawing], book: &Book) -> Result<(), Failure> {
    let mut jobs = wanted
        .iter()
        .filter_map(|wanted| wanted.source.as_ref().ok())
        .map(|source| &source.job);
    let Some(first) = jobs.next() else {
        return Ok(());
    };
    let lacks = |missing: fn(&JobFile) -> bool| missing(first) && jobs.clone().all(|job| missing(job));
    for (what, key, missing) in [
        (
            "material",
            "material",
            (|job| job.material.is_none()) as fn(&JobFile) -> bool,
        ),
        ("thickness", "thickness_mm", |job| job.thickness_mm.is_none()),
    ] {
        if lacks(missing) {
            return Err(Failure::NotAsked { what, key });
        }
    }
    let material = &first.material;
    if let Some(name) = material
        && jobs.all(|job| job.material == *material)
    {
        book.material(name).map_err(pass::Error::from)?;
    }
    Ok(())
}

/// Refuses a name given for all drawings that none of them has, before any is planned. Drawings are looked through until
/// each name is found: most often in the first.
fn validate_shared_names(wanted: &[NamedDrawing], largest_mb: u64) -> Result<(), Failure> {
    let sources = wanted.iter().filter_map(|wanted| wanted.source.as_ref().ok());
    let mut drawings = 0;
    let mut nowhere: Option<Vec<MissingName>> = None;
    for source in sources {
        let named = |missing: &MissingName| source.job.may_miss.contains(&missing.name);
        if source.job.may_miss.is_empty() || nowhere.as_ref().is_some_and(Vec::is_empty) {
            return Ok(());
        }
        // What cannot be read is a row with its reason.
        let Ok(bytes) = file_bytes(&source.drawing, largest_mb) else {
            continue;
        };
        let Ok(missing) = plan::names_missing(&bytes, &source.job) else {
            continue;
        };
        drawings += 1;
        nowhere = Some(match nowhere {
            None => missing.into_iter().filter(named).collect(),
            Some(mut so_far) => {
                so_far.retain(|one| missing.iter().any(|other| other.name == one.name));
                so_far
            }
        });
    }
    match nowhere {
        Some(names) if !names.is_empty() => Err(Failure::NamesInNone { drawings, names }),
        _ => Ok(()),
    }
}

/// Returns the row of a drawing, and whether it was in the table already.
fn row(
    wanted: &NamedDrawing,
    book: &Book,
    keys: &Keys,
    held: &table::Held,
    largest_mb: u64,
) -> (QuoteRow, bool) {
    let file = &wanted.file;
    // What cannot be read now may be there the next time: without a key such a row is never taken for done.
    let again = String::new;
    let source = match &wanted.source {
        Ok(source) => source,
        Err(reason) => {
            return (
                QuoteRow::refused(file, reason.as_str(), &JobFile::default(), again()),
                false,
            );
        }
    };
    let (path, job) = (&source.drawing, &*source.job);
    let bytes = match file_bytes(path, largest_mb) {
        Ok(bytes) => bytes,
        Err(error) => {
            let reason = format!("cannot be read: {error}");
            return (QuoteRow::refused(file, reason, job, again()), false);
        }
    };
    let key = keys.of(&bytes, job);
    if let Some(row) = held.take(file, &key) {
        return (row, true);
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let planned = catch_unwind(AssertUnwindSafe(|| {
        match Planner::new(book).job(job).plan(&name, &bytes) {
            Ok(plan) => QuoteRow::of_plan(file, &plan, key),
            Err(error) => QuoteRow::not_planned(file, &error, &bytes, job, book, key),
        }
    }));
    let row = planned.unwrap_or_else(|_| {
        let reason =
            "this program has a fault that this drawing brings out; please report it with the drawing";
        QuoteRow::refused(file, reason, job, again())
    });
    (row, false)
}

/// Describes what was done in this run, and how fast.
fn pace(rows: usize, earlier: &Earlier, took: Duration) -> String {
    let done = rows - earlier.kept;
    let seconds = took.as_secs_f64();
    let a_second = done as f64 / seconds.max(f64::EPSILON);
    let mut said = format!("{done} drawings in {seconds:.2} s, {a_second:.0} a second");
    for (rows, what) in [
        (earlier.kept, "stood in the table already"),
        (earlier.dropped, "taken out"),
        (
            earlier.others,
            "of drawings not named this time stay, not in the sums (`--only` takes them out)",
        ),
    ] {
        if rows > 0 {
            let _ = write!(said, "; {rows} rows {what}");
        }
    }
    said.push('\n');
    said
}
