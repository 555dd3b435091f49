//! The unit of the lengths that are printed.

use clap::builder::PossibleValue;
use clap::{Args, ValueEnum};

use super::job_keys::OUTPUT;
use crate::report::{Coverage, Lengths};

/// How what is printed is to be read.
#[derive(Clone, Copy, Debug, Args)]
#[command(next_help_heading = OUTPUT)]
pub(super) struct DisplayArgs {
    /// Unit of the lengths that are printed, on the drawing sheet, and in the columns of a CSV; other files and JSON stay in mm
    #[arg(
        long = "display-unit",
        alias = "lengths",
        value_name = "UNIT",
        default_value = "mm"
    )]
    pub(super) lengths: Lengths,
}

/// How much is printed for people.
#[derive(Clone, Copy, Debug, Args)]
#[command(next_help_heading = OUTPUT)]
pub(super) struct CoverageArgs {
    /// Print only the answer
    #[arg(long, conflicts_with_all = ["full", "json", "svg"])]
    brief: bool,

    /// Print everything: every contour and finding; of a plan time, cost and accuracy in full
    #[arg(long, conflicts_with_all = ["json", "svg"])]
    full: bool,
}

impl CoverageArgs {
    pub(super) const fn coverage(self) -> Coverage {
        match (self.brief, self.full) {
            (true, _) => Coverage::Head,
            (_, true) => Coverage::Full,
            _ => Coverage::Usual,
        }
    }
}

impl ValueEnum for Lengths {
    fn value_variants<'a>() -> &'a [Self] {
        &[Self::Mm, Self::Inch]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(match self {
            Self::Mm => PossibleValue::new("mm"),
            Self::Inch => PossibleValue::new("inch").alias("in"),
        })
    }
}
