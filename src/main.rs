//! The `kerfwright` command.

use std::process::ExitCode;

use clap::Parser;
use kerfwright::cli::Cli;

fn main() -> ExitCode {
    Cli::parse().run().into()
}
