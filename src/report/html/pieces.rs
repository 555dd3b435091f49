use maud::{Markup, html};

use super::table::{heads, table};
use crate::id::ContourId;
use crate::message::number::fixed;
use crate::plan::Plan;
use crate::process::Separation;
use crate::report::{pieces, words};

/// Most rows of a table.
const LISTED: usize = 200;

/// What drops, and how.
pub(super) fn section(plan: &Plan) -> Markup {
    let separations = &plan.process.separations;
    let names = [
        "Contour",
        "Piece",
        "Mass",
        "Across mm",
        "How it comes free",
        "Beware",
    ];
    // Pieces that drop alike, one after the other, share a row.
    let runs: Vec<&[Separation]> = separations.chunk_by(|a, b| words(a) == words(b)).collect();
    let rows = html! {
        @for run in runs.iter().take(LISTED) {
            @let separation = &run[0];
            @let contours: Vec<ContourId> = run.iter().map(|alike| alike.piece.contour).collect();
            tr {
                th scope="row" { (words::contour_words(&contours)) }
                td { (pieces::kind(separation.piece.kind)) }
                td.job-number { (pieces::mass(separation)) }
                td.job-number { (fixed(separation.piece.across_mm, 3)) }
                td.job-words { (pieces::removal(separation)) }
                td { (pieces::caution(separation)) }
            }
        }
    };
    html! {
        @if !separations.is_empty() {
            section aria-labelledby="job-pieces" {
                h2 id="job-pieces" { "What comes free" }
                p.job-caution {
                    "A piece that drops can tilt, fall or short the wire. Stop before each separation, power off, secure the piece, \
                     keep hands out while the wire runs."
                }
                (table("What comes free", &heads(&names, 2, 4), &rows))
                @if runs.len() > LISTED {
                    p { "… and " (runs.len() - LISTED) " rows more; the JSON lists all." }
                }
            }
        }
    }
}

/// What a row says beside the contour.
fn words(separation: &Separation) -> [String; 5] {
    let piece = &separation.piece;
    [
        pieces::kind(piece.kind).into(),
        pieces::mass(separation),
        fixed(piece.across_mm, 3),
        pieces::removal(separation),
        pieces::caution(separation).into(),
    ]
}
