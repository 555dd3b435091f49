use std::collections::BTreeMap;

use serde::Serialize;

use super::candidate::CandidateRow;
use super::inspection::InspectionDocument;
use super::plan::PlanDocument;
use super::refused::RefusedAnswer;
use super::sections::{SectionRow, section_rows};
use crate::message::Lengths;
use crate::plan::{Candidate, Inspection, Plan};
use crate::report::view::{self, Coverage};

/// What the page shows of one drawing.
#[derive(Debug)]
#[non_exhaustive]
pub enum Shown<'a> {
    /// Read and checked, without a plan.
    Inspected(&'a Inspection),
    /// Planned, beside every wire, machine and number of passes that might have been.
    Planned(&'a Plan, &'a [Candidate]),
}

/// What the page draws from: `plan --json` without the vertices of the paths and the terms of the figures, with
/// pictures in their place; or `inspect --json` with the reason why there is no plan.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(untagged)]
pub(super) enum PageDocument<'a> {
    /// Read and checked, without a plan.
    Inspected(Box<PageOf<'a, InspectionDocument<'a>>>),
    /// Planned.
    Planned(Box<PageOf<'a, PlanDocument<'a>>>),
}

/// What the page draws from, with what is known of the drawing.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct PageOf<'a, D> {
    #[serde(flatten)]
    drawing: D,
    /// What is shown in words and numbers.
    sections: Vec<SectionRow>,
    /// What the plan comes to; null without one.
    planned: Option<PlannedRow<'a>>,
    /// Why there is no plan; null where there is one or none was asked for.
    not_planned: Option<&'a RefusedAnswer>,
    /// Drawings as SVG, by name.
    pictures: BTreeMap<&'static str, String>,
}

/// What stands in a plan but not in its JSON.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct PlannedRow<'a> {
    /// Name of the machine that was asked for or chosen; null: the book's usual one.
    machine: Option<&'a str>,
    /// The model expects all that is asked.
    reaches_demand: bool,
    /// What each of `side_by_side` comes to, a sentence.
    in_short: Vec<String>,
    /// Every wire, machine and number of passes, weighed.
    side_by_side: Vec<CandidateRow<'a>>,
}

impl<'a> PageDocument<'a> {
    pub(super) fn new(
        shown: &Shown<'a>,
        lengths: Lengths,
        not_planned: Option<&'a RefusedAnswer>,
        pictures: Vec<(&'static str, String)>,
    ) -> Self {
        let pictures = pictures.into_iter().collect();
        match shown {
            Shown::Inspected(inspection) => Self::Inspected(Box::new(PageOf {
                drawing: InspectionDocument::new(inspection),
                sections: section_rows(&view::inspected(inspection, Coverage::Usual), lengths),
                planned: None,
                not_planned,
                pictures,
            })),
            Shown::Planned(plan, candidates) => Self::Planned(Box::new(PageOf {
                drawing: PlanDocument::without_bulk(plan),
                sections: section_rows(&view::on_page(plan), lengths),
                planned: Some(planned_row(plan, candidates, lengths)),
                not_planned,
                pictures,
            })),
        }
    }
}

fn planned_row<'a>(plan: &'a Plan, candidates: &'a [Candidate], lengths: Lengths) -> PlannedRow<'a> {
    PlannedRow {
        machine: plan.setup.machine.as_deref(),
        reaches_demand: plan.reaches_demand(),
        in_short: candidates
            .iter()
            .map(|candidate| view::candidate_in_short(plan, candidate).shown(lengths))
            .collect(),
        side_by_side: candidates.iter().map(CandidateRow::new).collect(),
    }
}
