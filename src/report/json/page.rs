use std::collections::BTreeMap;

use serde::Serialize;

use super::inspection::InspectionDocument;
use super::plan::{AnswerRow, PlanDocument};
use super::refused::RefusedAnswer;
use super::sections::{SectionRow, section_rows};
use crate::message::Lengths;
use crate::plan::{Inspection, Plan};
use crate::report::view::{self, Coverage};

/// What the page shows of one drawing.
#[derive(Debug)]
#[non_exhaustive]
pub enum Shown<'a> {
    /// Read and checked, without a plan.
    Inspected(&'a Inspection),
    /// Planned: what is needed at once. The rest comes in a second answer.
    First(&'a Plan),
    /// Planned, all of it.
    Planned(&'a Plan),
}

/// What stands on the page beside a drawing.
#[derive(Debug, Default)]
pub struct BesideDrawing<'a> {
    /// Why there is no plan.
    pub not_planned: Option<&'a RefusedAnswer>,
    /// What was understood of what was typed, by key.
    pub understood: BTreeMap<&'static str, String>,
    /// Pictures as SVG, by name.
    pub pictures: Vec<(&'static str, String)>,
}

/// What the page draws from: `plan --json` without the vertices of the paths and the terms of the figures, with
/// pictures in their place; or `inspect --json` with the reason why there is no plan.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(untagged)]
pub(super) enum PageDocument<'a> {
    /// Read and checked, without a plan.
    Inspected(Box<PageOf<'a, InspectionDocument<'a>>>),
    /// Planned: what is needed at once.
    First(Box<PageOf<'a, FirstOfPlan<'a>>>),
    /// Planned, all of it.
    Planned(Box<PageOf<'a, PlanDocument<'a>>>),
}

/// What is needed of a plan at once.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct FirstOfPlan<'a> {
    #[serde(flatten)]
    inspection: InspectionDocument<'a>,
    /// The answer in at most twelve lines.
    answer: AnswerRow,
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
    /// What was understood of what was typed, by key: in the unit that is shown.
    understood: BTreeMap<&'static str, String>,
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
}

impl<'a> PlannedRow<'a> {
    fn new(plan: &'a Plan) -> Self {
        Self {
            machine: plan.setup.machine.as_deref(),
            reaches_demand: plan.reaches_demand(),
        }
    }
}

impl<'a> PageDocument<'a> {
    pub(super) fn new(shown: &Shown<'a>, lengths: Lengths, beside: BesideDrawing<'a>) -> Self {
        let BesideDrawing {
            not_planned,
            understood,
            pictures,
        } = beside;
        let pictures = pictures.into_iter().collect();
        match shown {
            Shown::Inspected(inspection) => Self::Inspected(Box::new(PageOf {
                drawing: InspectionDocument::new(inspection),
                sections: section_rows(&view::inspected(inspection, Coverage::Usual), lengths),
                planned: None,
                not_planned,
                understood,
                pictures,
            })),
            Shown::First(plan) => Self::First(Box::new(PageOf {
                drawing: FirstOfPlan {
                    inspection: InspectionDocument::without_contours(&plan.inspection),
                    answer: AnswerRow::new(plan),
                },
                sections: section_rows(&view::first_on_page(plan), lengths),
                planned: Some(PlannedRow::new(plan)),
                not_planned,
                understood,
                pictures,
            })),
            Shown::Planned(plan) => Self::Planned(Box::new(PageOf {
                drawing: PlanDocument::without_bulk(plan),
                sections: section_rows(&view::on_page(plan), lengths),
                planned: Some(PlannedRow::new(plan)),
                not_planned,
                understood,
                pictures,
            })),
        }
    }
}
