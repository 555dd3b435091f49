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
    fits: Vec<FitRow<'a>>,
    /// Materials and wires of which nothing could be learned.
    refused: Vec<RefusedCalibrationRow<'a>>,
    /// Lines of the log that could not be used.
    unusable: Vec<UnusableRow<'a>>,
    /// Jobs that were fitted, those worst off first.
    jobs: Vec<FinishedJobRow<'a>>,
    /// Columns of the log that were not used.
    further_columns: Vec<FurtherColumnRow<'a>>,
    /// Lines of jobs without a drawing: one start hole, lead-in, threading, tab and slug was assumed for each contour.
    lines_without_drawing: &'a [usize],
    /// Machines of the log that the book does not have: their jobs were modelled on its usual one.
    machines_not_in_book: Vec<&'a str>,
}

/// What the jobs in a material with a wire say.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct FitRow<'a> {
    /// Name of the material.
    material: &'a str,
    /// Diameter of the wire, mm.
    wire_mm: f64,
    /// Kind of the wire.
    wire_kind: &'a str,
    /// The machine that it is for; null for those that have none of their own.
    machine: Option<&'a str>,
    /// Whether jobs of other machines speak in it too.
    is_pooled: bool,
    /// What the minutes of the jobs hold.
    minutes_hold: &'a [MinutesHold],
    /// How many jobs were used; of the machine, where it is for one.
    jobs: usize,
    /// Lines of the log whose jobs lie far off the others.
    wild_lines: &'a [usize],
    /// What the rates of the book are to be multiplied by.
    rate_factor: Band,
    /// How far the factor may be off at 95 %, percent.
    rate_told_within_percent: f64,
    /// Minutes of a set-up.
    fixed_min: Band,
    /// Whether these minutes come from the jobs, and not from the book.
    fixed_is_fitted: bool,
    /// Usual error of the estimate without the fit, percent.
    error_before_percent: f64,
    /// Usual error on jobs that the fit had not seen, percent.
    error_after_percent: f64,
    /// Measured Ra over expected Ra; null where none was measured.
    ra_ratio: Option<Band>,
    /// What the measured sizes say the offset should be changed by, µm; null where none was measured.
    offset_correction_um: Option<Band>,
}

/// A material and wire of which nothing could be learned.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "RefusedRow"))]
struct RefusedCalibrationRow<'a> {
    /// Name of the material.
    material: &'a str,
    /// Diameter of the wire, mm.
    wire_mm: f64,
    /// Kind of the wire.
    wire_kind: &'a str,
    /// How many jobs there are.
    jobs: usize,
    /// Why they are not enough, one sentence.
    reason: String,
}

/// A line of the log that could not be used.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct UnusableRow<'a> {
    /// Number of the line, from 1.
    line: usize,
    /// Why, one sentence.
    reason: &'a str,
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

/// A column of the log that was not used.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct FurtherColumnRow<'a> {
    /// Its heading, in small letters.
    name: &'a str,
    /// Rows that have something in it.
    filled: usize,
}

impl<'a> CalibrationDocument<'a> {
    pub(super) fn new(learned: &'a Calibrated) -> Self {
        Self {
            schema: SCHEMA,
            fits: learned.fits.iter().map(fit).collect(),
            refused: learned.refused.iter().map(refused).collect(),
            unusable: learned.flaws.iter().map(unusable).collect(),
            jobs: learned.jobs.iter().map(job).collect(),
            further_columns: learned.further.iter().map(further_column).collect(),
            lines_without_drawing: &learned.without_drawing,
            machines_not_in_book: learned.machines_not_in_book.iter().map(String::as_str).collect(),
        }
    }
}

fn fit(fit: &RateFit) -> FitRow<'_> {
    FitRow {
        material: &fit.material,
        wire_mm: fit.wire_mm,
        wire_kind: &fit.wire_kind,
        machine: fit.machine.as_deref(),
        is_pooled: fit.is_pooled,
        minutes_hold: &fit.minutes_hold,
        jobs: fit.jobs,
        wild_lines: &fit.wild_lines,
        rate_factor: fit.rate_factor,
        rate_told_within_percent: fit.rate_told_within_percent,
        fixed_min: fit.fixed_min,
        fixed_is_fitted: fit.fixed_is_fitted,
        error_before_percent: fit.error_before_percent,
        error_after_percent: fit.error_after_percent,
        ra_ratio: fit.ra_ratio.map(|(ratio, _)| ratio),
        offset_correction_um: fit.offset_correction_um.map(|(correction, _)| correction),
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
        off_percent: 100.0 * job.off().exp_m1(),
        is_wild: job.is_wild,
    }
}

fn further_column(column: &FurtherColumn) -> FurtherColumnRow<'_> {
    FurtherColumnRow {
        name: &column.name,
        filled: column.filled,
    }
}

fn refused(refused: &NoFit) -> RefusedCalibrationRow<'_> {
    RefusedCalibrationRow {
        material: &refused.material,
        wire_mm: refused.wire_mm,
        wire_kind: &refused.wire_kind,
        jobs: refused.jobs,
        reason: refused.reason.to_string(),
    }
}

fn unusable(flaw: &LogFlaw) -> UnusableRow<'_> {
    UnusableRow {
        line: flaw.line,
        reason: &flaw.reason,
    }
}
