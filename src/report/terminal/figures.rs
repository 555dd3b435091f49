use std::fmt::Write as _;

use super::{ERROR, HEADING, QUIET};
use crate::message::number::{band, plain};
use crate::plan::Plan;
use crate::report::words;
use crate::shop::Figure;

/// Writes every figure of a plan with its formula, terms, source and basis.
pub fn figures(plan: &Plan) -> String {
    let mut text = words::no_totals(plan).map_or_else(String::new, |why| {
        format!("{ERROR}no total and no price{ERROR:#}: {}\n", plain(&why))
    });
    let groups = plan.groups.len();
    for (group, figure) in crate::report::figures(plan) {
        let of = match group {
            Some(group) if groups > 1 => format!(" (group {group})"),
            _ => String::new(),
        };
        text.push_str(&traced(figure, &of));
    }
    text
}

fn traced(figure: &Figure, of: &str) -> String {
    let unit = |unit: &str| {
        if unit.is_empty() {
            String::new()
        } else {
            format!(" {unit}")
        }
    };
    let mut text = format!(
        "{HEADING}{}{of}{HEADING:#} = {}{}\n  = {}\n",
        figure.name,
        band(figure.value),
        unit(figure.unit),
        figure.formula
    );
    for term in &figure.terms {
        let _ = writeln!(
            text,
            "    {} = {}{}  {QUIET}{}{}{QUIET:#}",
            plain(&term.name),
            band(term.value),
            unit(term.unit),
            if term.is_figure { "see there; " } else { "" },
            sourced(words::basis(term.basis), &term.source)
        );
    }
    let _ = writeln!(
        text,
        "  {QUIET}rests on {}{QUIET:#}",
        sourced(words::basis(figure.basis), &figure.source)
    );
    text
}

fn sourced(basis: &str, source: &str) -> String {
    if source.is_empty() {
        basis.into()
    } else {
        format!("{basis}: {}", plain(source))
    }
}
