//! The unit of the lengths that are printed.

use clap::builder::PossibleValue;
use clap::{Args, ValueEnum};

use super::job_keys::OUTPUT;
use crate::report::Lengths;

/// How what is printed is to be read.
#[derive(Clone, Copy, Debug, Args)]
#[command(next_help_heading = OUTPUT)]
pub(super) struct DisplayArgs {
    /// Unit of the lengths that are printed, and of the columns of a CSV; other files and JSON stay in mm
    #[arg(
        long = "display-unit",
        alias = "lengths",
        value_name = "UNIT",
        default_value = "mm"
    )]
    pub(super) lengths: Lengths,
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
