use serde::Serialize;
use serde_json::{Map, Value};

use super::candidate::CandidateRow;
use super::inspection::InspectionDocument;
use super::plan::PlanDocument;
use crate::check::{self, Stage};
use crate::plan::{Candidate, Inspection, Plan};
use crate::units::UM_PER_MM;

/// What the page shows of one drawing.
#[derive(Debug)]
pub enum Shown<'a> {
    /// Read and checked, without a plan.
    Inspected(&'a Inspection),
    /// Planned, beside every wire, machine and number of passes that might have been.
    Planned(&'a Plan, &'a [Candidate]),
}

/// What the page draws from: `plan --json` without the vertices of the paths and the terms of the figures, with
/// pictures in their place; or `inspect --json` with the reason why there is no plan.
#[derive(Serialize)]
pub(super) struct PageDocument<'a> {
    #[serde(flatten)]
    drawing: DrawingDocument<'a>,
    /// Names of the checks that ran.
    checks: Vec<&'static str>,
    planned: Option<PlannedRow<'a>>,
    /// Why there is no plan, as an object of sentence, remedy and the key that it is about.
    not_planned: Option<Value>,
    pictures: Map<String, Value>,
}

#[derive(Serialize)]
#[serde(untagged)]
enum DrawingDocument<'a> {
    Inspected(InspectionDocument<'a>),
    Planned(Box<PlanDocument<'a>>),
}

/// What stands in a plan but not in its JSON.
#[derive(Serialize)]
struct PlannedRow<'a> {
    machine: Option<&'a str>,
    reaches_demand: bool,
    /// Largest deviation of any path from its offset; `None` without a path.
    verified_um: Option<f64>,
    /// Every wire, machine and number of passes, weighed.
    side_by_side: Vec<CandidateRow<'a>>,
}

impl<'a> PageDocument<'a> {
    pub(super) fn new(
        shown: &Shown<'a>,
        not_planned: Option<Value>,
        pictures: Vec<(&'static str, String)>,
    ) -> Self {
        let (drawing, planned, stage) = match shown {
            Shown::Inspected(inspection) => {
                let document = InspectionDocument::new(inspection);
                (DrawingDocument::Inspected(document), None, Stage::Contour)
            }
            Shown::Planned(plan, candidates) => {
                let document = PlanDocument::without_bulk(plan);
                let row = planned_row(plan, candidates);
                (
                    DrawingDocument::Planned(Box::new(document)),
                    Some(row),
                    Stage::Path,
                )
            }
        };
        let checks = check::ALL.iter().filter(|check| check.stage <= stage);
        Self {
            drawing,
            checks: checks.map(|check| check.name).collect(),
            planned,
            not_planned,
            pictures: pictures
                .into_iter()
                .map(|(name, svg)| (name.to_owned(), svg.into()))
                .collect(),
        }
    }
}

fn planned_row<'a>(plan: &'a Plan, candidates: &'a [Candidate]) -> PlannedRow<'a> {
    let verified = plan.paths.loops.iter().map(|path| path.verified_mm);
    PlannedRow {
        machine: plan.ask.machine.as_deref(),
        reaches_demand: plan.reaches_demand(),
        verified_um: verified.max_by(f64::total_cmp).map(|mm| mm * UM_PER_MM),
        side_by_side: candidates.iter().map(CandidateRow::new).collect(),
    }
}
