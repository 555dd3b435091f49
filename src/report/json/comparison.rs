use serde::Serialize;

use super::SCHEMA;
use super::candidate::CandidateRow;
use super::estimate::EstimateRow;
use super::question::{QuestionRow, question_rows};
use super::requirement::AskedRow;
use crate::message::Message;
use crate::plan::{Comparison, Plan};
use crate::units::UM_PER_MM;

/// What `compare --json` prints.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct ComparisonDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// Base name of the drawing.
    file: &'a str,
    /// Name of the material.
    material: &'a str,
    /// Thickness of the work, mm.
    thickness_mm: f64,
    /// Currency of all costs.
    currency: &'a str,
    /// What was assumed, a sentence each.
    assumptions: &'a [Message],
    /// What the drawing leaves open: no path and no price of these contours until each is answered.
    questions: Vec<QuestionRow<'a>>,
    /// What is asked of the wall, one of a demand group.
    asked: Vec<AskedRow<'a>>,
    /// Weighed from perimeter, radii and widths.
    candidates: Vec<CandidateRow<'a>>,
    /// The chosen one, offset and verified; null when nothing reaches what is asked.
    verified: Option<VerifiedRow<'a>>,
}

/// The chosen one with its paths.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct VerifiedRow<'a> {
    /// How many paths were refused.
    refused_paths: usize,
    /// Largest deviation of any path from its offset, µm; null without a path.
    verified_um: Option<f64>,
    /// Largest deviation of the finished wall from the drawing where the wire does not reach, µm; null where it reaches all.
    unreached_um: Option<f64>,
    /// What it takes and costs.
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
            questions: question_rows(&comparison.inspection),
            asked: comparison
                .demand_groups
                .iter()
                .map(|outline| AskedRow::new(outline.group, &outline.contours, &outline.requirement))
                .collect(),
            candidates: comparison.candidates.iter().map(CandidateRow::new).collect(),
            verified: comparison.chosen.as_ref().map(verified),
        }
    }
}

fn verified(plan: &Plan) -> VerifiedRow<'_> {
    let largest_um = |mm: Option<f64>| mm.map(|mm| mm * UM_PER_MM);
    let loops = plan.toolpaths.loops.iter().map(|path| path.verified_mm);
    let unreached = plan.toolpaths.unreached.iter().map(|place| place.deviation_mm);
    VerifiedRow {
        refused_paths: plan.toolpaths.refusals.len(),
        verified_um: largest_um(loops.max_by(f64::total_cmp)),
        unreached_um: largest_um(unreached.max_by(f64::total_cmp)),
        estimate: EstimateRow::new(plan),
    }
}
