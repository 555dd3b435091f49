use serde::Serialize;

use super::SCHEMA;
use crate::calibrate::{Calibrated, FurtherColumn, JobOutcome, LogFlaw, NoFit, RateFit};
use crate::shop::MinutesHold;
use crate::units::Band;

/// What `calibrate --json` prints.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct CalibrationDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// What was learned, one of a material and wire.
    fits: &'a [RateFit],
    /// Materials and wires of which nothing could be learned.
    refused: &'a [NoFit],
    /// Lines of the log that could not be used.
    unusable: &'a [LogFlaw],
    /// Jobs that were fitted, those worst off first.
    jobs: Vec<FinishedJobRow<'a>>,
    /// Columns of the log that were not used.
    further_columns: &'a [FurtherColumn],
    /// Lines of jobs without a drawing: one start hole, lead-in, threading, tab and slug was assumed for each contour.
    lines_without_drawing: &'a [usize],
    /// Machines of the log that the book does not have: their jobs were modelled on its usual one.
    machines_not_in_book: Vec<&'a str>,
}

/// A finished job beside what the fit says of it.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct FinishedJobRow<'a> {
    /// Number of the line, from 1.
    line: usize,
    /// Name of the material.
    material: &'a str,
    /// Diameter of the wire, mm.
    wire_mm: f64,
    /// Kind of the wire.
    wire_kind: &'a str,
    /// The machine; null where the log does not say it.
    machine: Option<&'a str>,
    /// What both minutes hold.
    minutes_hold: MinutesHold,
    /// Minutes by the fit; 95 % of such jobs lie between low and high.
    estimated_minutes: Band,
    /// Minutes that it took.
    actual_minutes: f64,
    /// By how much these are more than estimated, percent.
    off_percent: f64,
    /// Whether it lies so far off that it had no weight.
    is_wild: bool,
}

impl<'a> CalibrationDocument<'a> {
    pub(super) fn new(learned: &'a Calibrated) -> Self {
        Self {
            schema: SCHEMA,
            fits: &learned.fits,
            refused: &learned.refused,
            unusable: &learned.flaws,
            jobs: learned.jobs.iter().map(job).collect(),
            further_columns: &learned.further,
            lines_without_drawing: &learned.without_drawing,
            machines_not_in_book: learned.machines_not_in_book.iter().map(String::as_str).collect(),
        }
    }
}

fn job(job: &JobOutcome) -> FinishedJobRow<'_> {
    FinishedJobRow {
        line: job.line,
        material: &job.material,
        wire_mm: job.wire_mm,
        wire_kind: &job.wire_kind,
        machine: job.machine.as_deref(),
        minutes_hold: job.minutes_hold,
        estimated_minutes: job.expected_min,
        actual_minutes: job.real_min,
        off_percent: job.off_percent(),
        is_wild: job.is_wild,
    }
}
