use maud::{Markup, html};

use super::table::{heads, table};
use crate::plan::Plan;
use crate::report::number::fixed;
use crate::report::pieces;

/// Most rows of a table.
const LISTED: usize = 200;

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
        }
    }
}
