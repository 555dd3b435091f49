use maud::{Markup, PreEscaped, html};

use super::table::{heads, table};
use crate::message::number::{counted, fixed, plain};
use crate::plan::{Alternatives, Candidate, Plan, shortfalls_in_words};
use crate::report::{svg, words};
use crate::units::Band;

/// Most rows of the table.
const LISTED: usize = 60;

/// What was weighed and why it was not taken; where wire and passes were given, what else could be taken.
pub(super) fn section(plan: &Plan, alternatives: &Alternatives) -> Markup {
    if !plan.candidates.is_empty() {
        let shown: Vec<&Candidate> = plan.candidates.iter().collect();
        let heading = "How wire and passes were chosen";
        let text = format!(
            "{} weighed. {}",
            counted(shown.len(), "combination"),
            words::COMPUTED_OR_LEAST
        );
        return weighed(plan, &plan.candidates, &shown, heading, &text);
    }
    // What another one beats in everything is no choice.
    let worth = |candidate: &&Candidate| candidate.chosen || candidate.non_dominated;
    let shown: Vec<&Candidate> = alternatives.candidates.iter().filter(worth).collect();
    let text = format!(
        "Wire and passes were given: the marked one. {} weighed beside it; in the table stand those that no other one beats in time, \
         cost, finish and accuracy at once. {}",
        counted(alternatives.candidates.len(), "combination"),
        words::COMPUTED_OR_LEAST
    );
    weighed(
        plan,
        &alternatives.candidates,
        &shown,
        "What else could be taken",
        &text,
    )
}

fn weighed(plan: &Plan, all: &[Candidate], shown: &[&Candidate], heading: &str, words: &str) -> Markup {
    if all.is_empty() {
        return html! {};
    }
    // Where nothing can be cut, the table says why and a chart would be empty.
    let chart = all
        .iter()
        .any(|candidate| candidate.possible)
        .then(|| svg::trade_off(plan, all))
        .flatten();
    let rows = html! { @for candidate in shown.iter().take(LISTED) { (row(candidate)) } };
    let names = [
        "Wire",
        "Machine",
        "Passes",
        "Piece min",
        "Order min",
        "Order cost",
        "Ra µm",
        "± µm on size",
        "What speaks against it",
    ];
    html! {
        section class=[chart.as_ref().map(|_| "job-across")] aria-labelledby="job-choice" {
            h2 id="job-choice" { (heading) }
            p.job-quiet { (words) }
            @if let Some(chart) = chart { div.job-chart.job-wide { (PreEscaped(chart)) } }
            div.job-full { (table("Combinations weighed", &heads(&names, 2, 8), &rows)) }
            @if shown.len() > LISTED {
                p { "… and " (shown.len() - LISTED) " more; `compare` lists all." }
            }
        }
    }
}

fn row(candidate: &Candidate) -> Markup {
    let expected = |band: Option<Band>, decimals| {
        band.map_or_else(|| "–".to_owned(), |band| fixed(band.expected, decimals))
    };
    let least = candidate.totals.map_or("", |_| words::at_least(candidate.basis));
    html! {
        tr {
            th scope="row" {
                (fixed(candidate.wire_mm, 2)) " mm " (plain(&candidate.wire_kind))
                @if candidate.chosen { " (chosen)" }
            }
            td { (plain(&candidate.machine)) }
            td.job-number { (words::passes(candidate)) }
            td.job-number { (least) (expected(candidate.totals.map(|totals| totals.piece_minutes), 0)) }
            td.job-number { (least) (expected(candidate.totals.map(|totals| totals.order_minutes), 0)) }
            td.job-number { (least) (expected(candidate.totals.map(|totals| totals.cost_order), 0)) }
            td.job-number { (expected(candidate.ra_um, 2)) }
            td.job-number { (candidate.accuracy_um.map_or_else(|| "–".to_owned(), |um| fixed(um, 1))) }
            td.job-reasons { (plain(&shortfalls_in_words(&candidate.reasons))) }
        }
    }
}
