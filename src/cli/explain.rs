use clap::Args;

use super::{Exit, Failure, output};
use crate::shop::nearest;
use crate::{check, report};

/// `explain NAME`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright explain zero-length-curve")]
pub struct ExplainArgs {
    /// Name of the check, as a finding shows it; left out, every check is listed
    name: Option<String>,
}

impl ExplainArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let text = match &self.name {
            None => report::terminal::checks(),
            Some(name) => report::terminal::check(check::find(name).ok_or_else(|| unknown(name))?),
        };
        output::print(&text)?;
        Ok(Exit::Clean)
    }
}

fn unknown(name: &str) -> Failure {
    Failure::UnknownCheck {
        name: name.into(),
        nearest: nearest(name, check::ALL.iter().map(|check| check.name)),
    }
}
