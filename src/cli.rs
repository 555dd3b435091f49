//! The command line: one file a command. With `serve`, the only place that touches files and the terminal.
//!
//! Results go to standard output, talk to standard error.

mod book;
mod calibrate;
mod compare;
mod completions;
mod demand;
#[cfg(all(windows, feature = "serve"))]
mod desktop;
mod display;
mod drift;
mod explain;
mod failure;
mod gauge;
mod held_open;
mod input;
mod inspect;
mod inspection_sheet;
mod job_keys;
mod man;
mod output;
mod plan;
mod quote;
mod reading;
mod results;
mod room;
mod old_names;
mod starts;
mod schema;
#[cfg(feature = "serve")]
mod serve;
mod temporary;
mod test_piece;
mod timings;

use std::env;
use std::ffi::OsString;
use std::process::ExitCode;

use anstream::ColorChoice;
use clap::{Parser, Subcommand, ValueEnum};

use crate::finding::{Finding, Severity};
use crate::report::Lengths;

pub use failure::Failure;

/// Checks a 2D DXF profile for wire EDM, computes the exact wire path of every pass, and estimates the time.
#[derive(Debug, Parser)]
#[command(name = "kerfwright", version, after_help = EXIT_CODES)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,

    /// When to colour what is printed
    #[arg(long, global = true, value_enum, default_value_t = Color::Auto, value_name = "WHEN", hide_short_help = true)]
    pub color: Color,

    /// Say on standard error how long each step took
    #[arg(short, long, global = true, hide_short_help = true)]
    pub verbose: bool,
}

const EXIT_CODES: &str = "Exit codes: 0 no error was found; 1 a check found an error, or no wire and number of passes in the shop data reaches the requirement; 2 it could not run.";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read a drawing, measure its contours and check it
    Inspect(Box<inspect::InspectArgs>),
    /// Compute the wire's path of every pass and estimate the time
    Plan(Box<plan::PlanArgs>),
    /// Weigh every wire and number of passes: time, cost, finish, accuracy
    Compare(Box<compare::CompareArgs>),
    /// Plan many drawings into one table: cut areas, time and cost
    Quote(Box<quote::QuoteArgs>),
    #[cfg(feature = "serve")]
    /// Open the page: drop a drawing, change what is asked, see what it costs
    Serve(serve::ServeArgs),
    /// Learn from the shop's log of finished jobs
    Calibrate(calibrate::CalibrateArgs),
    /// Make a test piece: drawing, plan, sheet, job and forms, by which the machine's own offsets are gauged
    TestPiece(test_piece::TestPieceArgs),
    /// Learn the machine's own offsets from the readings of a test piece
    Gauge(gauge::GaugeArgs),
    /// Chart readings on finished walls: how far they drift, and when to change the offset
    Drift(drift::DriftArgs),
    /// List the sizes and points of a finished part that can be measured, with room for the readings
    InspectionSheet(Box<inspection_sheet::InspectionSheetArgs>),
    /// Lay the clock of an order over a log of the room: how far the part moves with its temperature
    Room(Box<room::RoomArgs>),
    /// Show, start or check the shop's book
    Book(book::BookArgs),
    /// Say what a check looks for, why it matters and what to do
    Explain(explain::ExplainArgs),
    /// Print the JSON Schema of an output
    Schema(schema::SchemaArgs),
    /// Print the completions of a shell
    Completions(completions::CompletionsArgs),
    /// Print the manual page, or write one for each command
    Man(man::ManArgs),
}

impl Command {
    /// Returns the unit that lengths are printed in.
    fn lengths(&self) -> Lengths {
        match self {
            Self::Inspect(inspect) => inspect.display.lengths,
            Self::Plan(plan) => plan.display.lengths,
            Self::Compare(compare) => compare.display.lengths,
            Self::Quote(quote) => quote.display.lengths,
            Self::InspectionSheet(sheet) => sheet.display.lengths,
            Self::Room(room) => room.display.lengths,
            _ => Lengths::Mm,
        }
    }
}

/// When to colour what is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// How the command ended, as its exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// It ran, and no check found an error.
    Clean = 0,
    /// It ran, and a check found an error, or nothing reaches what is asked.
    Findings = 1,
    /// It could not run.
    CouldNotRun = 2,
}

/// Runs what the program was started for and says how it ended.
pub fn run_as_started() -> Exit {
    #[cfg(all(windows, feature = "serve"))]
    if let Some(files) = desktop::files_of_start(env::args_os().skip(1)) {
        return desktop::run(files);
    }
    Cli::parse().run()
}

impl Cli {
    /// Runs the command and says how it ended.
    pub fn run(&self) -> Exit {
        self.color.apply();
        let arguments: Vec<OsString> = env::args_os().collect();
        for note in old_names::notes(arguments.iter().map(OsString::as_os_str)) {
            output::tell(&note);
        }
        if self.verbose {
            timings::tell(matches!(self.command, Command::Quote(_)));
        }
        let done = match &self.command {
            Command::Inspect(inspect) => inspect.run(),
            Command::Plan(plan) => plan.run(),
            Command::Compare(compare) => compare.run(),
            Command::Quote(quote) => quote.run(),
            #[cfg(feature = "serve")]
            Command::Serve(serve) => serve.run(),
            Command::Calibrate(calibrate) => calibrate.run(),
            Command::TestPiece(piece) => piece.run(),
            Command::Gauge(gauge) => gauge.run(),
            Command::Drift(drift) => drift.run(),
            Command::InspectionSheet(sheet) => sheet.run(),
            Command::Room(room) => room.run(),
            Command::Book(book) => book.run(),
            Command::Explain(explain) => explain.run(),
            Command::Schema(schema) => schema.run(),
            Command::Completions(completions) => completions.run(),
            Command::Man(man) => man.run(),
        };
        done.unwrap_or_else(|failure| {
            failure.print(self.command.lengths());
            Exit::CouldNotRun
        })
    }
}

impl Exit {
    /// As the findings have it.
    fn of(findings: &[Finding]) -> Self {
        if findings.iter().any(|finding| finding.severity == Severity::Error) {
            Self::Findings
        } else {
            Self::Clean
        }
    }
}

impl Color {
    fn apply(self) {
        let choice = match self {
            Self::Auto => ColorChoice::Auto,
            Self::Always => ColorChoice::Always,
            Self::Never => ColorChoice::Never,
        };
        choice.write_global();
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

#[cfg(test)]
mod tests {
    use clap::builder::ValueHint;
    use clap::{Arg, Command as Definition, CommandFactory as _};

    use super::Cli;
    use super::job_keys::{OUTPUT, heading};
    use crate::job::{Asked, JobFile, JobWord as _, KeyGroup, Purpose};

    /// More do not fit on a screen.
    const MOST_SHOWN: usize = 25;

    fn walk(definition: &Definition, visit: &mut impl FnMut(&Definition, &Arg)) {
        for arg in definition.get_arguments() {
            visit(definition, arg);
        }
        for command in definition.get_subcommands() {
            walk(command, visit);
        }
    }

    fn definition() -> Definition {
        let mut definition = Cli::command();
        definition.build();
        definition
    }

    #[test]
    fn every_option_stands_in_its_group() {
        let groups = [
            heading(KeyGroup::Job),
            heading(KeyGroup::Shop),
            heading(KeyGroup::Holding),
            heading(KeyGroup::Wire),
            heading(KeyGroup::Drawing),
            OUTPUT,
        ];
        let definition = definition();
        for name in ["inspect", "plan", "compare", "quote"] {
            let command = definition.find_subcommand(name).expect("a command");
            let mut met: Vec<&str> = Vec::new();
            for arg in command.get_arguments().filter(|arg| !arg.is_positional()) {
                let id = arg.get_id().as_str();
                if ["help", "color", "verbose"].contains(&id) {
                    continue;
                }
                let group = arg
                    .get_help_heading()
                    .unwrap_or_else(|| panic!("{name}: {id} stands in no group"));
                assert!(groups.contains(&group), "{name}: {id} stands under {group}");
                if !met.contains(&group) {
                    met.push(group);
                }
                let key = JobFile::KEYS.iter().find(|key| key.key == id);
                assert!(key.is_none_or(|key| heading(key.group) == group), "{id}");
                let printed = [
                    "json",
                    "svg",
                    "csv",
                    "out",
                    "overwrite",
                    "formats",
                    "lengths",
                    "explain_numbers",
                ];
                assert_eq!(
                    printed.contains(&id),
                    group == OUTPUT && printed.contains(&id),
                    "{id}"
                );
            }
            let order: Vec<&str> = groups.into_iter().filter(|group| met.contains(group)).collect();
            assert_eq!(met, order, "{name}");
            let shown =
                |arg: &&Arg| !arg.is_positional() && !arg.is_hide_set() && !arg.is_hide_short_help_set();
            let shown = command.get_arguments().filter(shown).count();
            assert!(shown <= MOST_SHOWN, "{name}: {shown} options");
        }
    }

    /// Completions offer the words that an option takes, files where it takes one, and nothing where it takes neither.
    #[test]
    fn every_fixed_word_is_offered() {
        let words = |arg: &Arg| -> Vec<String> {
            let words = arg.get_possible_values();
            words.iter().map(|word| word.get_name().to_owned()).collect()
        };
        walk(&definition(), &mut |command, arg| {
            let place = format!("{} --{}", command.get_name(), arg.get_id());
            if arg.get_action().takes_values() && words(arg).is_empty() {
                let hint = arg.get_value_hint();
                assert!(
                    arg.is_positional() || hint != ValueHint::Unknown,
                    "{place}: files are offered"
                );
                let named = arg
                    .get_value_names()
                    .and_then(|names| names.first())
                    .map(clap::builder::Str::as_str);
                let takes_path = matches!(named, Some("FILE" | "DIR" | "TABLE" | "PATH"));
                let offers = matches!(
                    hint,
                    ValueHint::FilePath | ValueHint::DirPath | ValueHint::AnyPath
                );
                assert!(arg.is_positional() || takes_path == offers, "{place}");
            }
        });
        let definition = definition();
        let plan = definition.find_subcommand("plan").expect("a command");
        for key in JobFile::KEYS {
            let arg = plan.get_arguments().find(|arg| arg.get_id() == key.key);
            let arg = arg.unwrap_or_else(|| panic!("{key:?} is no option"));
            if !key.value_name.is_empty() {
                assert_eq!(words(arg), (key.words)(), "{key:?}");
            }
            assert_eq!(arg.is_hide_set(), key.asked == Asked::NotYet, "{key:?}");
        }
        // What a layer is for stands behind its name, where no shell completes: the help lists all of it.
        let layer = plan
            .get_arguments()
            .find(|arg| arg.get_id() == "layer")
            .expect("an option");
        let help = layer.get_long_help().expect("a long help").to_string();
        for word in Purpose::WORDS {
            assert!(help.contains(word), "{word}");
        }
    }
}
