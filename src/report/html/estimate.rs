use std::collections::BTreeSet;

use maud::{Markup, html};

use crate::plan::Plan;
use crate::report::number::{band, duration, fixed, plain};
use crate::report::words;
use crate::shop::Figure;

/// Time and wire, then every figure with its terms.
pub(super) fn section(plan: &Plan) -> Markup {
    let cut = &plan.cut;
    let area = |value: Option<f64>| value.map_or_else(unknown, |mm2| format!("{} mm²", fixed(mm2, 1)));
    let figure = |figure: &Option<Figure>| figure.as_ref().map_or_else(unknown, with_unit);
    html! {
        section aria-labelledby="job-estimate" {
            h2 id="job-estimate" { "Estimate" }
            p.job-quiet { "Expected, and in brackets what it may be. The model expects; prove by measuring." }
            dl {
                dt { "Cut area, rough" } dd { (area(cut.rough_area_mm2)) }
                dt { "Cut area, all passes" } dd { (area(cut.pass_area_mm2)) }
                dt { "Cutting" }
                dd { (cut.minutes.as_ref().map_or_else(unknown, |minutes| duration(minutes.value))) }
                dt { "Wire" } dd { (figure(&cut.wire_m)) "; " (figure(&cut.wire_kg)) }
                dt { "Spools" } dd { (figure(&cut.spools)) }
            }
            details {
                summary { "Where every figure comes from" }
                @for figure in plan.schedule.figures().chain(&cut.figures) { (traced(figure)) }
            }
        }
    }
}

fn traced(figure: &Figure) -> Markup {
    html! {
        h3 { (figure.name) ": " (with_unit(figure)) }
        p.job-quiet { "= " (figure.formula) }
        @if !figure.terms.is_empty() {
            table {
                thead {
                    tr {
                        th scope="col" { "Term" }
                        th.job-number scope="col" { "Value" }
                        th scope="col" { "Basis" }
                        th scope="col" { "Source" }
                    }
                }
                tbody {
                    @for term in &figure.terms {
                        tr {
                            th scope="row" { (term.name) }
                            td.job-number { (band(term.value)) " " (term.unit) }
                            td { (words::basis(term.basis)) }
                            td { (plain(&term.source)) }
                        }
                    }
                }
            }
        }
    }
}

/// Everything that the figures rest on, once.
pub(super) fn sources(plan: &Plan) -> Markup {
    let figures = plan.schedule.figures().chain(&plan.cut.figures);
    let terms = figures.flat_map(|figure| &figure.terms);
    let sources: BTreeSet<(&str, &str)> = terms
        .map(|term| (words::basis(term.basis), term.source.as_str()))
        .filter(|(_, source)| !source.is_empty())
        .collect();
    html! {
        section aria-labelledby="job-sources" {
            h2 id="job-sources" { "What the figures rest on" }
            ul { @for (basis, source) in sources { li { (plain(source)) " (" (basis) ")" } } }
        }
    }
}

fn with_unit(figure: &Figure) -> String {
    format!("{} {}", band(figure.value), figure.unit)
        .trim_end()
        .to_owned()
}

fn unknown() -> String {
    "not known: a path was refused".into()
}
