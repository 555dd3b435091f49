use serde::Serialize;

use super::SCHEMA;
use crate::calibrate::{Calibrated, LogFlaw, NoFit, RateFit};
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
    /// How many jobs were used.
    jobs: usize,
    /// Lines of the log whose jobs lie far off the others.
    wild_lines: &'a [usize],
    /// What the rates of the book are to be multiplied by.
    rate_factor: Band,
    /// How far the factor may be off at 95 %, percent.
    rate_told_within_percent: f64,
    /// Minutes of a job beside its cut.
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

impl<'a> CalibrationDocument<'a> {
    pub(super) fn new(learned: &'a Calibrated) -> Self {
        Self {
            schema: SCHEMA,
            fits: learned.fits.iter().map(fit).collect(),
            refused: learned.refused.iter().map(refused).collect(),
            unusable: learned.flaws.iter().map(unusable).collect(),
        }
    }
}

fn fit(fit: &RateFit) -> FitRow<'_> {
    FitRow {
        material: &fit.material,
        wire_mm: fit.wire_mm,
        wire_kind: &fit.wire_kind,
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
