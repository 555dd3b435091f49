//! The command line: one file a command. With `serve`, the only place that touches files and the terminal.
//!
//! Results go to standard output, talk to standard error.

mod book;
mod calibrate;
mod compare;
mod completions;
mod demand;
mod display;
mod explain;
mod failure;
mod input;
mod inspect;
mod job_keys;
mod man;
mod output;
mod plan;
mod quote;
mod reading;
mod results;
mod old_names;
mod starts;
mod schema;
#[cfg(feature = "serve")]
mod serve;
mod temporary;
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

const EXIT_CODES: &str = "Exit codes: 0 no error was found; 1 a check found an error, or nothing in the book reaches what is \
                          asked; 2 it could not run.";

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
