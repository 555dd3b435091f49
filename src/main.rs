//! The `kerfwright` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    kerfwright::cli::run_as_started().into()
}
