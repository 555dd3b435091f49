use maud::{Markup, PreEscaped, html};

use super::table::{heads, table};
use crate::plan::{Candidate, Plan};
use crate::report::number::{counted, fixed, plain};
use crate::report::{svg, words};
use crate::units::Band;

/// What was weighed and why it was not taken; nothing where wire and passes were given.
pub(super) fn section(plan: &Plan) -> Markup {
    const LISTED: usize = 60;
    let Some(chart) = svg::trade_off(plan) else {
        return html! {};
    };
    let rows = html! { @for candidate in plan.candidates.iter().take(LISTED) { (row(candidate)) } };
    let names = [
        "Wire",
        "Machine",
        "Passes",
        "Minutes",
        "Cost",
        "Ra µm",
        "± µm on size",
        "What speaks against it",
    ];
    html! {
        section.job-across aria-labelledby="job-choice" {
            h2 id="job-choice" { "How wire and passes were chosen" }
            p.job-quiet {
                (counted(plan.candidates.len(), "combination"))
                " weighed from perimeter, radii and widths; only the chosen one is offset and verified."
            }
            div.job-chart.job-wide { (PreEscaped(chart)) }
            (table("Combinations weighed", &heads(&names, 2, 7), &rows))
            @if plan.candidates.len() > LISTED {
                p { "… and " (plan.candidates.len() - LISTED) " more; the JSON lists all." }
            }
        }
    }
}

fn row(candidate: &Candidate) -> Markup {
    let expected = |band: Option<Band>, decimals| {
        band.map_or_else(|| "–".to_owned(), |band| fixed(band.expected, decimals))
    };
    html! {
        tr {
            th scope="row" {
                (fixed(candidate.wire_mm, 2)) " mm " (plain(&candidate.wire_kind))
                @if candidate.chosen { " (chosen)" }
            }
            td { (plain(&candidate.machine)) }
            td.job-number { (words::passes(candidate)) }
            td.job-number { (expected(candidate.minutes, 0)) }
            td.job-number { (expected(candidate.cost, 0)) }
            td.job-number { (expected(candidate.ra_um, 2)) }
            td.job-number { (candidate.accuracy_um.map_or_else(|| "–".to_owned(), |um| fixed(um, 1))) }
            td.job-reasons { (plain(&candidate.reasons.join("; "))) }
        }
    }
}
