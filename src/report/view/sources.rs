//! The numbers of the book that a plan rests on.

use std::collections::BTreeSet;

use super::frames::{ColumnOf, Section, SectionLayout, SectionPart, Tone, ViewTable};
use crate::id::PassNo;
use crate::message::{Message, message};
use crate::plan::Plan;
use crate::report::{figures, words};
use crate::shop::{Basis, Term};

/// A number that the figures rest on, once for all passes that share it.
struct SharedNumber<'a> {
    name: &'a str,
    unit: &'static str,
    basis: Basis,
    source: &'a str,
    /// Each different value, in the order of the passes.
    values: Vec<Message>,
    passes: BTreeSet<PassNo>,
    /// What it goes into.
    figures: Vec<&'a str>,
}

/// Returns what was not given for this job: value, what it goes into, how far it can be trusted and where it comes from.
pub(super) fn section(plan: &Plan) -> Section {
    const ALL: (usize, usize) = (usize::MAX, usize::MAX);
    type Row<'a> = SharedNumber<'a>;
    let inputs = inputs(plan);
    let own = if inputs.iter().any(|input| input.basis == Basis::Shop) {
        "The built-in book with the shop's own figures over it."
    } else {
        "The built-in book alone: none of its figures is this shop's own."
    };
    let columns = vec![
        ColumnOf::name("number", |row: &Row<'_>| {
            message!("{}{}", row.name, of_passes(&row.passes))
        }),
        ColumnOf::words("value", |row: &Row<'_>| {
            message!("{} {}", Message::joined(row.values.clone(), ", "), row.unit)
        }),
        ColumnOf::words("goes into", |row: &Row<'_>| row.figures.join(", ")),
        ColumnOf::words("basis", |row: &Row<'_>| words::basis(row.basis)),
        ColumnOf::words("source, or what to do", |row: &Row<'_>| beyond_basis(row)),
    ];
    Section::new("sources", "book and sources")
        .layout(SectionLayout::Compact)
        .words(Tone::Plain, message!("{} {}.", own, words::confidence(plan.estimate.confidence)))
        .words(
            Tone::Quiet,
            "Every number of the book that went into this sheet, with its likely range. What is measured on the drawing or called for is \
             left out.",
        )
        .with(SectionPart::Table(ViewTable::new(columns, inputs, ALL)))
}

/// Returns where the numbers come from, those with the same source together.
pub(super) fn in_short(plan: &Plan) -> Section {
    /// Most numbers of a source that are named.
    const NAMED: usize = 6;
    let mut sources: Vec<(Message, Vec<String>)> = Vec::new();
    for input in inputs(plan) {
        let is_named = matches!(input.basis, Basis::Published | Basis::Shop);
        let source = message!(
            "{}{}",
            words::basis(input.basis),
            is_named.then(|| format!(": {}", input.source))
        );
        let name = input.name.to_owned();
        match sources.iter_mut().find(|(known, _)| *known == source) {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => sources.push((source, vec![name])),
        }
    }
    let items = sources.into_iter().map(|(source, names)| {
        let more = match names.len().saturating_sub(NAMED) {
            0 => String::new(),
            more => format!(" and {more} more numbers"),
        };
        message!(
            "{}: {}{}",
            source,
            names[..names.len().min(NAMED)].join(", "),
            more
        )
    });
    Section::new("sources-in-short", "sources of this job").with(SectionPart::List(items.collect()))
}

/// In the order in which the figures need them.
fn inputs(plan: &Plan) -> Vec<SharedNumber<'_>> {
    let mut inputs: Vec<SharedNumber<'_>> = Vec::new();
    for (_, figure) in figures(plan) {
        let (goes_into, _) = without_pass(&figure.name);
        for term in figure.terms.iter().filter(|term| is_of_the_book(term)) {
            let (name, pass) = without_pass(&term.name);
            let same = |input: &SharedNumber<'_>| {
                (input.name, input.unit, input.basis, input.source)
                    == (name, term.unit, term.basis, term.source.as_str())
            };
            let at = inputs.iter().position(same).unwrap_or_else(|| {
                inputs.push(SharedNumber {
                    name,
                    unit: term.unit,
                    basis: term.basis,
                    source: &term.source,
                    values: Vec::new(),
                    passes: BTreeSet::new(),
                    figures: Vec::new(),
                });
                inputs.len() - 1
            });
            let input = &mut inputs[at];
            let value = message!("{}", super::traces::value(term.value, "").bare());
            if !input.values.contains(&value) {
                input.values.push(value);
            }
            input.passes.extend(pass);
            if !input.figures.contains(&goes_into) {
                input.figures.push(goes_into);
            }
        }
    }
    inputs
}

fn is_of_the_book(term: &Term) -> bool {
    !term.is_figure && term.basis != Basis::Given
}

/// Returns a name without `of pass 2`, and the pass.
fn without_pass(name: &str) -> (&str, Option<PassNo>) {
    for before in [" of pass ", " after pass ", " by pass "] {
        if let Some((stem, rest)) = name.split_once(before) {
            let digits = rest.split(|c: char| !c.is_ascii_digit()).next();
            let number = digits.and_then(|digits| digits.parse().ok());
            return (stem, number.and_then(PassNo::new));
        }
    }
    (name, None)
}

/// `, pass 1`, `, passes 2 to 4`.
fn of_passes(passes: &BTreeSet<PassNo>) -> String {
    match (passes.first(), passes.last()) {
        (Some(first), Some(last)) if first == last => format!(", pass {first}"),
        (Some(first), Some(last)) if last.index() - first.index() + 1 == passes.len() => {
            format!(", passes {first} to {last}")
        }
        (Some(_), Some(_)) => {
            let numbers: Vec<String> = passes.iter().map(ToString::to_string).collect();
            format!(", passes {}", numbers.join(", "))
        }
        _ => String::new(),
    }
}

/// Returns the source without the words that repeat its basis.
fn beyond_basis<'a>(input: &SharedNumber<'a>) -> &'a str {
    let repeated = match input.basis {
        Basis::Default => "estimate",
        Basis::Memory => "from memory, not verified",
        Basis::Practice => "common practice, no source",
        Basis::Given | Basis::Shop | Basis::Published => return input.source,
    };
    let rest = input.source.strip_prefix(repeated).unwrap_or(input.source);
    let rest = rest.strip_suffix(repeated).unwrap_or(rest);
    rest.trim_matches([' ', ';', ':', ','])
}
