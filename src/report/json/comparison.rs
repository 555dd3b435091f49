use serde::Serialize;

use super::SCHEMA;
use super::asked::AskedRow;
use super::candidate::CandidateRow;
use super::estimate::EstimateRow;
use crate::plan::{Comparison, Plan};
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
            asked: comparison
                .outlines
                .iter()
                .map(|outline| AskedRow::new(outline.group, &outline.contours, &outline.asked))
                .collect(),
            candidates: comparison.candidates.iter().map(CandidateRow::new).collect(),
            verified: comparison.chosen.as_ref().map(verified),
        }
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
