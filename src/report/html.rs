//! The job sheet: one HTML page that needs nothing else, to be taken to the machine or kept with the order.

mod sections;

use std::io::{self, Write};

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::calibrate::Calibrated;
use crate::gauge::{Drift, TestPiece};
use crate::message::number::plain;
use crate::plan::{Alternatives, InspectionSheet, Plan, day};
use crate::report::svg;
use crate::report::view::{self, FullSheet, SheetPictures};
use sections::{PAPER, sections};

const STYLE: &str = include_str!("html/job_sheet.css");
const SCRIPT: &str = include_str!("html/job_sheet.js");

/// Where the drawing sheet comes: it is written by itself, since it is most of the page. No text of a plan holds a `<`.
const SHEET: &str = "<!-- drawing sheet -->";

/// Writes a plan as a page; with its alternatives in full, with them and every number of the book. The same plan gives the same bytes.
pub fn plan(plan: &Plan, alternatives: Option<&Alternatives>) -> String {
    let mut bytes = Vec::new();
    write_plan(plan, alternatives, &mut bytes).expect("memory takes what is written to it");
    String::from_utf8(bytes).expect("what is written is text")
}

/// As [`plan`], the drawing sheet bit by bit.
///
/// # Errors
/// Those of `out`.
pub fn write_plan(plan: &Plan, alternatives: Option<&Alternatives>, out: &mut dyn Write) -> io::Result<()> {
    let page = page(plan, alternatives);
    let (before, after) = page.split_once(SHEET).expect("the sheet has its place");
    out.write_all(before.as_bytes())?;
    let sheets = svg::DrawingSheets::of(plan, PAPER);
    let paper = if sheets.is_portrait() {
        "job-portrait"
    } else {
        "job-landscape"
    };
    sheets.write_each((&format!("<div class=\"job-paper {paper}\">"), "</div>"), out)?;
    writeln!(out, "{after}")
}

/// The page without its drawing sheet.
fn page(plan: &Plan, alternatives: Option<&Alternatives>) -> String {
    let day = day(plan);
    let pictures = SheetPictures {
        part: svg::part_alone(plan, PAPER),
        working_day: day.as_ref().map(svg::working_day),
    };
    let full = alternatives.map(|alternatives| FullSheet {
        alternatives,
        trade_off: trade_off(plan, alternatives),
        budgets: plan.groups.iter().map(svg::accuracy_budget).collect(),
    });
    let class = full.is_none().then_some("job-usual");
    let shown = view::job_sheet(plan, day.as_ref(), pictures, full);
    let body = html! {
        main class=[class] { (sections(&shown)) }
        script { (PreEscaped(SCRIPT)) }
    };
    document(&format!("Job sheet: {}", plain(&plan.inspection.file)), &body)
}

fn trade_off(plan: &Plan, alternatives: &Alternatives) -> Option<String> {
    let compared = if plan.candidates.is_empty() {
        &alternatives.candidates
    } else {
        &plan.candidates
    };
    // Where nothing can be cut, the table says why and a chart would be empty.
    let can_be_cut = compared.iter().any(|candidate| candidate.possible);
    can_be_cut.then(|| svg::trade_off(plan, compared)).flatten()
}

/// Writes estimate against actual of every job of a log, worst first, as a page that needs nothing else.
pub fn calibration(learned: &Calibrated, log: &str) -> String {
    let body = html! { main { (sections(&view::learned(learned, svg::finished_jobs(&learned.jobs)))) } };
    document(&format!("Finished jobs: {}", plain(log)), &body) + "\n"
}

/// Writes the form on which the readings of a test piece are written, as a page that needs nothing else.
pub fn gauging_form(piece: &TestPiece, plan: &Plan) -> String {
    let body = html! { main.job-form { (sections(&view::gauging_form(piece, plan))) } };
    document("Readings of a test piece", &body) + "\n"
}

/// Writes what of a finished part is to be measured as a page that needs nothing else, with room for the readings.
pub fn inspection_sheet(plan: &Plan, sheet: &InspectionSheet) -> String {
    let picture = svg::inspection_sheet(plan, sheet);
    let shown = view::inspection_sheet(plan, sheet, Some(picture));
    let body = html! { main.job-readings { (sections(&shown)) } };
    document(
        &format!("Inspection sheet: {}", plain(&plan.inspection.file)),
        &body,
    ) + "\n"
}

/// Writes how finished walls drift off their targets as a page that needs nothing else.
pub fn drift(drift: &Drift, log: &str) -> String {
    let body = html! { main { (sections(&view::drifting(drift, svg::control_chart))) } };
    document(&format!("Drift of walls: {}", plain(log)), &body) + "\n"
}

fn document(title: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header { h1 { (title) } }
                (body)
            }
        }
    };
    page.into_string()
}

#[cfg(test)]
pub(super) mod tests;
