//! The second answer to the page: the plan in full, what else could have been chosen, and the way of the wire.

use std::collections::BTreeMap;

use serde::Serialize;

use super::PAGE_SCHEMA;
use super::candidate::CandidateRow;
use super::motion::MotionRow;
use super::plan::PlanDocument;
use super::sections::{SectionRow, section_rows};
use crate::message::Lengths;
use crate::plan::{Alternatives, Plan};
use crate::report::view;

/// Longer ways, in vertices, are not shown moving.
const MOST_VERTICES: usize = 200_000;

/// What follows the answer.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct RestDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = PAGE_SCHEMA)))]
    schema: u32,
    /// The plan, as in its JSON without the vertices of the paths and the terms of the figures.
    plan: PlanDocument<'a>,
    /// What is shown in words and numbers.
    sections: Vec<SectionRow>,
    /// Pictures as SVG, by name.
    pictures: BTreeMap<&'static str, String>,
    /// What else could have been chosen.
    alternatives: AlternativesRow<'a>,
    /// The way of the wire; null where there is none, or it is too long to be shown moving.
    motion: Option<MotionRow>,
}

/// Every wire, machine and number of passes beside the plan.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct AlternativesRow<'a> {
    /// What each of `side_by_side` comes to, a sentence.
    in_short: Vec<String>,
    /// Every wire, machine and number of passes, weighed.
    side_by_side: Vec<CandidateRow<'a>>,
    /// The next finer wire that can cut it with the same machine and passes: which of `side_by_side`, from 0.
    finer_wire: Option<usize>,
    /// One pass more with the same wire and machine: which of `side_by_side`, from 0.
    one_pass_more: Option<usize>,
}

impl<'a> RestDocument<'a> {
    pub(super) fn new(
        plan: &'a Plan,
        alternatives: &'a Alternatives,
        lengths: Lengths,
        pictures: Vec<(&'static str, String)>,
    ) -> Self {
        let vertices: usize = plan
            .toolpaths
            .loops
            .iter()
            .map(|wire| wire.polyline.vertices.len())
            .sum();
        let day = alternatives.day.as_ref().filter(|_| vertices <= MOST_VERTICES);
        Self {
            schema: PAGE_SCHEMA,
            plan: PlanDocument::without_bulk(plan),
            sections: section_rows(&view::on_page(plan), lengths),
            pictures: pictures.into_iter().collect(),
            alternatives: AlternativesRow::new(plan, alternatives, lengths),
            motion: day.map(|day| MotionRow::new(plan, day)),
        }
    }
}

impl<'a> AlternativesRow<'a> {
    fn new(plan: &Plan, alternatives: &'a Alternatives, lengths: Lengths) -> Self {
        let candidates = &alternatives.candidates;
        let in_short = candidates.iter();
        Self {
            in_short: in_short
                .map(|candidate| view::candidate_in_short(plan, candidate).shown(lengths))
                .collect(),
            side_by_side: candidates.iter().map(CandidateRow::new).collect(),
            finer_wire: alternatives.finer_wire(plan),
            one_pass_more: alternatives.one_pass_more(plan),
        }
    }
}
