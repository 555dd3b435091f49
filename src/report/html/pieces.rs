use maud::{Markup, html};

use super::table::{heads, table};
use crate::plan::Plan;
use crate::report::number::fixed;
use crate::report::pieces;

/// Most rows of a table.
const LISTED: usize = 200;

/// Whether all of it finds room on the first page.
pub(super) fn is_short(plan: &Plan) -> bool {
    const FEW: usize = 10;
    plan.paths.separations.len() + plan.sequence().len() <= FEW
}

/// What comes free, and how.
pub(super) fn section(plan: &Plan) -> Markup {
    let separations = &plan.paths.separations;
    let names = [
        "Contour",
        "Piece",
        "Mass",
        "Across mm",
        "How it comes free",
        "Beware",
    ];
    let rows = html! {
        @for separation in separations.iter().take(LISTED) {
            tr {
                th scope="row" { (separation.piece.contour) }
                td { (pieces::kind(separation.piece.kind)) }
                td.job-number { (pieces::mass(separation)) }
                td.job-number { (fixed(separation.piece.across_mm, 3)) }
                td { (pieces::removal(separation)) }
                td { (pieces::caution(separation)) }
            }
        }
    };
    html! {
        @if !separations.is_empty() {
            section aria-labelledby="job-pieces" {
                h2 id="job-pieces" { "What comes free" }
                p.job-caution {
                    "A piece that comes free falls or tilts. Somebody stands by before each separation and holds it."
                }
                (table("What comes free", &heads(&names, 2, 4), &rows))
                @if separations.len() > LISTED {
                    p { "… and " (separations.len() - LISTED) " more; the JSON lists all." }
                }
            }
            (steps(plan))
        }
    }
}

/// The steps in the order of cutting, with a running clock.
fn steps(plan: &Plan) -> Markup {
    let steps = plan.sequence();
    let names = [
        "Step",
        "Contour",
        "Begins min",
        "Takes min",
        "Path mm",
        "What",
        "Attended",
    ];
    let rows = html! {
        @for (number, step) in (1..).zip(steps.iter().take(LISTED)) {
            tr {
                th scope="row" { (number) }
                td.job-number { (step.contour) }
                td.job-number { (fixed(step.from_minutes, 1)) }
                td.job-number { (fixed(step.minutes, 1)) }
                td.job-number { (fixed(step.length_mm, 3)) }
                td { (pieces::step(plan, step)) }
                td { @if step.kind.is_attended() { "attended" } }
            }
        }
    };
    html! {
        section aria-labelledby="job-steps" {
            h2 id="job-steps" { "Order of cutting" }
            p.job-quiet { "Set-up, threading, leads and corners are left aside here; the time holds them." }
            (table("Order of cutting", &heads(&names, 1, 5), &rows))
            @if steps.len() > LISTED {
                p { "… and " (steps.len() - LISTED) " more; the JSON lists all." }
            }
        }
    }
}
