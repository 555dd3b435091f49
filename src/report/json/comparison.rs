use serde::Serialize;

use super::SCHEMA;
use super::candidate::CandidateRow;
use super::estimate::EstimateRow;
use crate::plan::{Comparison, Outline, Plan};
use crate::units::UM_PER_MM;

/// What `compare --json` prints.
#[derive(Serialize)]
pub(super) struct ComparisonDocument<'a> {
    schema: u32,
    file: &'a str,
    material: &'a str,
    thickness_mm: f64,
    currency: &'a str,
    assumptions: &'a [String],
    asked: Vec<AskedRow<'a>>,
    /// Weighed from perimeter, radii and widths.
    candidates: Vec<CandidateRow<'a>>,
    /// The chosen one, offset and verified; `None` when nothing reaches what is asked.
    verified: Option<VerifiedRow<'a>>,
}

/// What is asked of a demand group.
#[derive(Serialize)]
struct AskedRow<'a> {
    group: usize,
    contours: &'a [usize],
    ra_um: Option<f64>,
    lower_mm: Option<f64>,
    upper_mm: Option<f64>,
    limits_of: Option<crate::job::Scope>,
    aim_mm: f64,
    inside_radius_mm: Option<f64>,
}

#[derive(Serialize)]
struct VerifiedRow<'a> {
    refused_paths: usize,
    /// Largest deviation of any path from its offset; `None` without a path.
    verified_um: Option<f64>,
    /// Largest deviation of the finished wall from the drawing where the wire does not reach.
    unreached_um: Option<f64>,
    estimate: EstimateRow<'a>,
}

impl<'a> ComparisonDocument<'a> {
    pub(super) fn new(comparison: &'a Comparison) -> Self {
        Self {
            schema: SCHEMA,
            file: &comparison.inspection.file,
            material: &comparison.material,
            thickness_mm: comparison.thickness_mm,
            currency: &comparison.currency,
            assumptions: &comparison.inspection.assumptions,
            asked: comparison.outlines.iter().map(asked).collect(),
            candidates: comparison.candidates.iter().map(CandidateRow::new).collect(),
            verified: comparison.chosen.as_ref().map(verified),
        }
    }
}

fn asked(outline: &Outline) -> AskedRow<'_> {
    let asked = &outline.asked;
    AskedRow {
        group: outline.group,
        contours: &outline.contours,
        ra_um: asked.ra_um,
        lower_mm: asked.limits.map(|(limits, _)| limits.lower_mm),
        upper_mm: asked.limits.map(|(limits, _)| limits.upper_mm),
        limits_of: asked.limits.map(|(_, scope)| scope),
        aim_mm: asked.aim_mm,
        inside_radius_mm: asked.inside_radius_mm,
    }
}

fn verified(plan: &Plan) -> VerifiedRow<'_> {
    let largest_um = |mm: Option<f64>| mm.map(|mm| mm * UM_PER_MM);
    let loops = plan.paths.loops.iter().map(|path| path.verified_mm);
    let unreached = plan.paths.unreached.iter().map(|place| place.deviation_mm);
    VerifiedRow {
        refused_paths: plan.paths.refusals.len(),
        verified_um: largest_um(loops.max_by(f64::total_cmp)),
        unreached_um: largest_um(unreached.max_by(f64::total_cmp)),
        estimate: EstimateRow::new(plan),
    }
}
