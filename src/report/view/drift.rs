//! How finished walls drift off their targets.

use super::frames::{ColumnOf, Outlet, Pair, Section, SectionPart, Tone, ViewTable};
use crate::gauge::{Baseline, Drift, DriftPoint, RecipeDrift};
use crate::message::number::counted;
use crate::message::{Message, UnitSymbol, message};
use crate::report::drift_words::{
    advice, excess, limit_state, limits_in_words, recipe_in_words, signal_in_words,
};

/// Returns the charts of a log, recipe by recipe, and what could not be read of it. `picture` draws one.
pub(in crate::report) fn drifting(
    drift: &Drift,
    picture: impl Fn(&RecipeDrift) -> Option<String>,
) -> Vec<Section> {
    let recipes = (1..).zip(&drift.recipes);
    let mut sections: Vec<Section> = recipes
        .map(|(number, recipe)| {
            charted(number, recipe)
                .with_picture(picture(recipe))
                .with_on(Outlet::JOB_SHEET, points(recipe))
        })
        .collect();
    let mut told: Vec<Message> = Vec::new();
    if drift.without_reading > 0 {
        told.push(message!(
            "not measured yet: {}",
            counted(drift.without_reading, "row")
        ));
    }
    let flaws = drift.flaws.iter();
    told.extend(flaws.map(|flaw| message!("not used: {}", flaw.to_string())));
    sections.push(Section::new("log", "what to know of the log").with(SectionPart::List(told)));
    sections
}

fn charted(number: usize, recipe: &RecipeDrift) -> Section {
    let section = Section::new(format!("recipe-{number}"), recipe_in_words(&recipe.recipe));
    let section = section.note("above 0 a wall has too much material, below 0 too little");
    let several = recipe.baselines.len() > 1;
    (1..)
        .zip(&recipe.baselines)
        .fold(section, |section, (number, baseline)| {
            let section = if several {
                section.with(SectionPart::Heading(message!("baseline {}", number as usize)))
            } else {
                section
            };
            let section = section.with(SectionPart::Pairs(pairs(baseline)));
            if baseline.begun_without_signal {
                let words =
                    "The offset was changed though nothing told more than chance: walls vary more by that.";
                return section.words(Tone::Strong, words);
            }
            section
        })
}

fn pairs(baseline: &Baseline) -> Vec<Pair> {
    let mut pairs = vec![
        Pair::known(
            "offset of the last pass",
            baseline.offset_mm.map(|mm| crate::message::mm(mm).fixed(4)),
        ),
        Pair::new("points", message!("{}", baseline.points.len())),
        Pair::new("limits", limit_state(baseline)),
    ];
    if let Some(limits) = &baseline.limits {
        pairs.push(Pair::new("on a wall", limits_in_words(limits)));
    }
    pairs.extend(
        baseline
            .signals
            .iter()
            .map(|signal| Pair::new("signal", signal_in_words(signal))),
    );
    pairs.push(Pair::new("do", advice(baseline)));
    pairs
}

fn points(recipe: &RecipeDrift) -> SectionPart {
    const ALL: (usize, usize) = (0, usize::MAX);
    type Row<'a> = (usize, &'a DriftPoint);
    let columns = vec![
        ColumnOf::name("baseline", |row: &Row<'_>| row.0),
        ColumnOf::name("line", |row: &Row<'_>| row.1.line),
        ColumnOf::words("date", |row: &Row<'_>| row.1.date.as_deref()),
        ColumnOf::words("piece", |row: &Row<'_>| row.1.piece.as_deref()),
        ColumnOf::number("readings", UnitSymbol::Same(""), |row: &Row<'_>| row.1.readings),
        ColumnOf::number("too much on a wall", UnitSymbol::Um, |row: &Row<'_>| {
            excess(row.1.excess_um)
        }),
    ];
    let numbered = (1..).zip(&recipe.baselines);
    let rows =
        numbered.flat_map(|(number, baseline)| baseline.points.iter().map(move |point| (number, point)));
    SectionPart::Table(ViewTable::new(columns, rows, ALL))
}
