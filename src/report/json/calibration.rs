use serde::Serialize;

use super::SCHEMA;
use crate::estimate::{Calibrated, Fit, LogFlaw, NoFit};
use crate::units::Band;

/// What `calibrate --json` prints.
#[derive(Serialize)]
pub(super) struct CalibrationDocument<'a> {
    schema: u32,
    fits: Vec<FitRow<'a>>,
    refused: Vec<RefusedRow<'a>>,
    unusable: Vec<UnusableRow<'a>>,
}

#[derive(Serialize)]
struct FitRow<'a> {
    material: &'a str,
    wire_mm: f64,
    wire_kind: &'a str,
    jobs: usize,
    wild_lines: &'a [usize],
    rate_factor: Band,
    /// At 95 %.
    rate_told_within_percent: f64,
    fixed_min: Band,
    fixed_is_fitted: bool,
    error_before_percent: f64,
    /// On jobs that the fit had not seen.
    error_after_percent: f64,
    ra_ratio: Option<Band>,
    offset_correction_um: Option<Band>,
}

#[derive(Serialize)]
struct RefusedRow<'a> {
    material: &'a str,
    wire_mm: f64,
    wire_kind: &'a str,
    jobs: usize,
    reason: &'a str,
}

#[derive(Serialize)]
struct UnusableRow<'a> {
    line: usize,
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

fn fit(fit: &Fit) -> FitRow<'_> {
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

fn refused(refused: &NoFit) -> RefusedRow<'_> {
    RefusedRow {
        material: &refused.material,
        wire_mm: refused.wire_mm,
        wire_kind: &refused.wire_kind,
        jobs: refused.jobs,
        reason: &refused.reason,
    }
}

fn unusable(flaw: &LogFlaw) -> UnusableRow<'_> {
    UnusableRow {
        line: flaw.line,
        reason: &flaw.reason,
    }
}
