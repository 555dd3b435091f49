use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::{Cli, Exit, Failure, output};

/// `completions SHELL`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright completions bash")]
pub struct CompletionsArgs {
    /// The shell
    shell: Shell,
}

impl CompletionsArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "kerfwright", &mut script);
        output::print_bytes(&script)?;
        Ok(Exit::Clean)
    }
}
