//! The job sheet: one HTML page that needs nothing else, to be taken to the machine or kept with the order.

mod accuracy;
pub(super) mod cautions;
mod choice;
mod day;
mod estimate;
mod findings;
mod finished_jobs;
mod passes;
mod pieces;
mod sources;
mod steps;
mod table;
mod trace;

use std::io::{self, Write};

use maud::{DOCTYPE, Markup, PreEscaped, html};

use table::{heads, minutes, table};

pub use finished_jobs::calibration;

use crate::message::number::{fixed, plain, short, um};
use crate::plan::{Alternatives, Plan};
use crate::report::sides::{SideSources, purpose_with_side, side_source};
use crate::report::totals::Totals;
use crate::report::{svg, words};

const STYLE: &str = include_str!("html/job_sheet.css");
const SCRIPT: &str = include_str!("html/job_sheet.js");

/// Where the drawing sheet comes: it is written by itself, since it is most of the page. No text of a plan holds a `<`.
const SHEET: &str = "<!-- drawing sheet -->";

/// A plan as a page, with what is shown beside it. The same plan gives the same bytes.
pub fn plan(plan: &Plan, alternatives: &Alternatives) -> String {
    let mut bytes = Vec::new();
    write_plan(plan, alternatives, &mut bytes).expect("memory takes what is written to it");
    String::from_utf8(bytes).expect("what is written is text")
}

/// As [`plan`], the drawing sheet bit by bit.
///
/// # Errors
/// Those of `out`.
pub fn write_plan(plan: &Plan, alternatives: &Alternatives, out: &mut dyn Write) -> io::Result<()> {
    let page = page(plan, alternatives);
    let (before, after) = page.split_once(SHEET).expect("the sheet has its place");
    out.write_all(before.as_bytes())?;
    svg::write_plan(plan, out)?;
    writeln!(out, "{after}")
}

/// The page without its drawing sheet.
fn page(plan: &Plan, alternatives: &Alternatives) -> String {
    let file = plain(&plan.inspection.file);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Job sheet: " (file) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { "Job sheet: " (file) }
                    p.job-caution { "Model offsets: cut and gauge a test piece first." }
                }
                main {
                    // What is needed at the machine comes first, so that the first page can stand alone.
                    (asked(plan))
                    (passes::section(plan))
                    (findings::section(plan))
                    (assumed(plan))
                    @let few_steps = steps::are_few(plan);
                    @if few_steps { (pieces::section(plan)) (steps::section(plan)) }
                    (sheet())
                    @if !few_steps { (pieces::section(plan)) (steps::section(plan)) }
                    (passes::unreached(plan))
                    (contours(plan))
                    (estimate::section(plan))
                    (day::section(plan, alternatives.day.as_ref()))
                    (accuracy::section(plan))
                    (cautions::section())
                    (choice::section(plan, alternatives))
                    (sources::section(plan))
                    (trace::section(plan))
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    page.into_string()
}

fn asked(plan: &Plan) -> Markup {
    let ask = &plan.setup;
    let units = &plan.inspection.drawing.units;
    let totals = Totals::of(&plan.inspection);
    html! {
        section aria-labelledby="job-asked" {
            h2 id="job-asked" { "Part and demand" }
            dl.job-pairs {
                dt { "Material" } dd { (plain(&ask.material)) }
                dt { "Thickness" } dd { (short(ask.thickness_mm, 4)) " mm" }
                dt { "Wire" }
                dd {
                    (short(ask.wire_mm, 4)) " mm"
                    @if let Some(kind) = &ask.wire_kind { ", " (plain(kind)) }
                }
                dt { "Machine" } dd { (ask.machine.as_deref().map_or_else(|| "the book's usual one".to_owned(), plain)) }
                @if let Some(parts) = words::parts(&plan.parts) { dt { "Parts drawn" } dd { (parts) } }
                @if let Some(order) = words::order(plan) { dt { "Order" } dd { (order) } }
                dt { "Drawing unit" } dd { (units.name) }
                dt { "Perimeter to cut" } dd { (fixed(totals.cut_perimeter_mm, 4)) " mm" }
                @if let Some(sources) = SideSources::of(&plan.inspection).in_words() { dt { "Sides" } dd { (sources) } }
                dt { "Cutting" } dd { (minutes(plan.estimate.cut.minutes.as_ref().map(|minutes| minutes.value))) }
                dt { (words::capitalised(&words::drawn(plan))) " at the machine" }
                dd { (minutes(plan.estimate.totals().map(|totals| totals.machine_minutes))) }
                dt { "The order at the machine, with set-ups" }
                dd { (minutes(plan.estimate.totals().map(|totals| totals.order_minutes))) }
            }
            @if let Some(why) = super::words::no_totals(plan) {
                p.job-caution { "No total and no price: " (plain(&why)) "." }
            }
            (demands(plan))
        }
    }
}

/// The requirement of each demand group.
fn demands(plan: &Plan) -> Markup {
    let rows = html! {
        @for group in &plan.groups {
            @let asked = &group.requirement;
            tr {
                th scope="row" { (group.group) }
                td.job-number { (group.contours.len()) }
                td.job-number { (group.passes().len()) }
                td { (asked.ra_um.map_or_else(|| "–".to_owned(), |ra_um| format!("Ra {} µm", short(ra_um, 3)))) }
                td { @if asked.limits.is_some() { (accuracy::limits(asked)) } @else { "–" } }
                td {
                    @if asked.aim_mm == 0.0 { "on the drawing" }
                    @else { "walls " (um(asked.aim_mm)) " µm into the material" }
                }
            }
        }
    };
    let names = ["Group", "Contours", "Passes", "Finish", "Limits", "Aim"];
    table("What is asked of the wall", &heads(&names, 1, 3), &rows)
}

fn assumed(plan: &Plan) -> Markup {
    let assumptions = &plan.inspection.assumptions;
    html! {
        @if !assumptions.is_empty() {
            section aria-labelledby="job-assumed" {
                h2 id="job-assumed" { "What was assumed" }
                ul { @for assumption in assumptions { li { (plain(assumption)) } } }
            }
        }
    }
}

fn sheet() -> Markup {
    html! {
        section.job-across aria-labelledby="job-sheet" {
            h2 id="job-sheet" { "Drawing sheet" }
            // Shown by the script: without it there is nothing to move.
            p.job-tools hidden {
                button type="button" data-zoom="1.5" { "Larger" }
                button type="button" data-zoom="0.6667" { "Smaller" }
                button type="button" data-zoom="0" { "Whole sheet" }
                span { "Click, then drag to move and turn the wheel to zoom. With the keyboard: arrow keys, + and −, 0 for the whole sheet; 1 to 9 \
                     show and hide a pass, M the marks." }
            }
            p.job-print { "Printed here smaller than on its A4: for lengths take the scale bar, not the scale in the title block." }
            div.job-sheet role="group" aria-label="Drawing sheet" {
                (PreEscaped(SHEET))
            }
        }
    }
}

fn contours(plan: &Plan) -> Markup {
    const LISTED: usize = 200;
    let contours = &plan.inspection.contours.list;
    let rows = html! {
        @for contour in contours.iter().take(LISTED) {
            tr {
                th scope="row" { (contour.id) }
                td { (plain(super::layer_of(contour, &plan.inspection.drawing))) }
                td { (super::words::role(contour.role)) }
                td { (super::words::purpose(purpose_with_side(contour))) }
                td { (side_source(contour).map_or("–", super::words::side_source)) }
                td.job-number { (fixed(contour.perimeter_mm, 4)) }
                td.job-number { @if contour.polyline.closed { (fixed(contour.area_mm2, 4)) } @else { "–" } }
                td.job-number { (super::words::inside_radius(contour.min_inside_radius_mm)) }
            }
        }
    };
    let names = [
        "No.",
        "Layer",
        "Role",
        "Use",
        "Side",
        "Perimeter mm",
        "Area mm²",
        "Inside radius mm",
    ];
    html! {
        section aria-labelledby="job-contours" {
            h2 id="job-contours" { "Contours" }
            (table("Contours", &heads(&names, 5, 8), &rows))
            @if contours.len() > LISTED {
                p { "… and " (contours.len() - LISTED) " more; the JSON lists all." }
            }
        }
    }
}

#[cfg(test)]
pub(super) mod tests;
