//! Where every figure comes from.

use super::frames::{ColumnOf, Section, SectionPart, Tone, ViewTable};
use crate::message::{QuantityValue, UnitSymbol, message, of_unit};
use crate::plan::Plan;
use crate::report::{figures, words};
use crate::shop::{Figure, Term};
use crate::units::Band;

/// Returns every figure with its formula, its terms and their sources.
pub(super) fn parts(plan: &Plan) -> Vec<SectionPart> {
    let groups = plan.groups.len();
    let traced = figures(plan).into_iter().flat_map(|(group, figure)| {
        let of = group
            .filter(|_| groups > 1)
            .map(|group| message!(" (group {})", group));
        [
            SectionPart::Heading(message!(
                "{}{} = {}",
                figure.name,
                of,
                value(figure.value, figure.unit)
            )),
            SectionPart::Words(Tone::Plain, message!("= {}", figure.formula)),
            SectionPart::Table(terms(figure)),
            SectionPart::Words(
                Tone::Quiet,
                message!("rests on {}", sourced(words::basis(figure.basis), &figure.source)),
            ),
        ]
    });
    traced.collect()
}

/// Returns them to be opened on demand.
pub(super) fn folded(plan: &Plan) -> Section {
    Section::new("traces", "where every figure comes from").with(SectionPart::Folded(
        "Show each figure with its formula, its terms and their sources".into(),
        parts(plan),
    ))
}

pub(super) fn value(value: Band, unit: &'static str) -> QuantityValue {
    of_unit(value, unit).four(0)
}

fn terms(figure: &Figure) -> ViewTable {
    const ALL: (usize, usize) = (usize::MAX, usize::MAX);
    let columns = vec![
        ColumnOf::name("term", |row: &&Term| row.name.as_str()),
        ColumnOf::number("value", UnitSymbol::Same(""), |row: &&Term| {
            message!("{}", value(row.value, row.unit))
        }),
        ColumnOf::words("basis", |row: &&Term| words::basis(row.basis)),
        ColumnOf::words("source", |row: &&Term| {
            let see = if row.is_figure { "see there; " } else { "" };
            message!("{}{}", see, row.source)
        }),
    ];
    ViewTable::new(columns, &figure.terms, ALL)
}

fn sourced(basis: &str, source: &str) -> String {
    if source.is_empty() {
        basis.to_owned()
    } else {
        format!("{basis}: {source}")
    }
}
