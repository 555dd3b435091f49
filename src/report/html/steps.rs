use maud::{Markup, html};

use super::table::{heads, table};
use crate::message::number::{fixed, short};
use crate::plan::Plan;
use crate::report::{steps, words};

/// Most rows of a table.
const LISTED: usize = 200;

/// Whether the order of cutting, and what goes with it, finds room on the first page.
pub(super) fn are_few(plan: &Plan) -> bool {
    const FEW: usize = 12;
    plan.process.separations.len() + plan.process.starts.list.len() + steps::rows(plan).len() <= FEW
}

/// Where the wire is threaded, and the order of cutting with its clock.
pub(super) fn section(plan: &Plan) -> Markup {
    html! {
        @if !plan.process.operations.is_empty() {
            (starts(plan))
            (order(plan))
        }
    }
}

fn starts(plan: &Plan) -> Markup {
    let starts = &plan.process.starts.list;
    let names = [
        "Contour",
        "x mm",
        "y mm",
        "Hole mm",
        "Room mm",
        "Needed mm",
        "Lead-in mm",
        "Overlap mm",
        "From",
        "Shorter",
    ];
    let rows = html! {
        @for start in starts.iter().take(LISTED) {
            @let run = &plan.process.leads[start.wire_loop.index()];
            tr {
                th scope="row" { (start.contour) }
                td.job-number { (short(start.at.x, 4)) }
                td.job-number { (short(start.at.y, 4)) }
                td.job-number { (steps::hole(start)) }
                td.job-number { (fixed(start.clearance_mm, 3)) }
                td.job-number { (fixed(start.required_clearance_mm, 3)) }
                td.job-number { (fixed(run.lead_in.length(), 3)) }
                td.job-number { (fixed(run.overlap_mm, 2)) }
                td { (steps::origin(start.origin)) }
                td { (steps::shorter(start)) }
            }
        }
    };
    html! {
        section aria-labelledby="job-starts" {
            h2 id="job-starts" { "Where the wire is threaded" }
            p.job-quiet {
                "Room: from the middle of the hole to the nearest wall, as far as it is needed. Needed: half the hole, the drift of its \
                 drill over the thickness, and the clearance of the book."
            }
            (table("Where the wire is threaded", &heads(&names, 1, 8), &rows))
            @if starts.len() > LISTED {
                p { "… and " (starts.len() - LISTED) " more; the JSON lists all." }
            }
        }
    }
}

/// Writes the steps in the order of cutting, with a running clock.
fn order(plan: &Plan) -> Markup {
    let list = steps::rows(plan);
    let names = [
        "Steps",
        "Contour",
        "Begins min",
        "Takes min",
        "Path mm",
        "What",
        "Attended",
    ];
    let rows = html! {
        @for row in list.iter().take(LISTED) {
            tr {
                th scope="row" { (row.numbers()) }
                td { (row.contour_words()) }
                td.job-number { (fixed(row.clock_minutes, 1)) }
                td.job-number { (fixed(row.takes_minutes, 1)) }
                td.job-number { (fixed(row.length_mm, 3)) }
                td.job-words { (row.words) }
                td { @if row.attended { "attended" } }
            }
        }
    };
    html! {
        section aria-labelledby="job-steps" {
            h2 id="job-steps" { "Order of cutting" }
            p { (steps::summary(plan)) "." }
            p.job-quiet {
                @if words::no_totals(plan).is_some() {
                    "The clock begins after the set-up and runs over what stands here: its end is no total; "
                } @else {
                    "The clock begins after the set-up and ends with the expected machine time; "
                }
                "what engagement, corners and wire breaks cost is in it, in proportion. Contours that are cut alike, one after the other, share their rows."
            }
            (table("Order of cutting", &heads(&names, 2, 5), &rows))
            @if list.len() > LISTED {
                p { "… and " (list.len() - LISTED) " more; the JSON lists all." }
            }
        }
    }
}
