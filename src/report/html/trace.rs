use maud::{Markup, html};

use super::table::{heads, table, with_unit};
use crate::id::GroupId;
use crate::message::number::{band, plain};
use crate::plan::Plan;
use crate::report::figures;
use crate::report::words;
use crate::shop::{Figure, Term};

/// Writes every figure with its terms, to be opened.
pub(super) fn section(plan: &Plan) -> Markup {
    html! {
        section.job-traces aria-labelledby="job-traces" {
            h2 id="job-traces" { "Where every figure comes from" }
            details {
                summary { "Show each figure with its formula, its terms and their sources" }
                @for (group, figure) in figures(plan) { (traced(plan, group, figure)) }
            }
        }
    }
}

fn traced(plan: &Plan, group: Option<GroupId>, figure: &Figure) -> Markup {
    let of_group = group.filter(|_| plan.groups.len() > 1);
    let label = format!("Terms of {}", figure.name);
    let rows = html! { @for term in &figure.terms { (row(term)) } };
    html! {
        h3 {
            @if let Some(group) = of_group { "group " (group) ", " }
            (figure.name) ": " (with_unit(figure.value, figure.unit))
        }
        p.job-quiet { "= " (figure.formula) }
        @if !figure.terms.is_empty() {
            (table(&label, &heads(&["Term", "Value", "Basis", "Source"], 1, 2), &rows))
        }
    }
}

fn row(term: &Term) -> Markup {
    html! {
        tr {
            th scope="row" { (term.name) }
            td.job-number { (band(term.value)) " " (term.unit) }
            td { (words::basis(term.basis)) }
            td { (plain(&term.source)) }
        }
    }
}
