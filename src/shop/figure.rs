use serde::{Serialize, Serializer};

use crate::shop::{Basis, Number};
use crate::units::Band;

/// A computed figure that can be traced: its formula, the terms that went in, and what it rests on.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct Figure {
    /// What it is, in words; unique among the figures of one demand group and of the job beside.
    pub name: String,
    /// Its value and band.
    pub value: Band,
    /// Its unit, as printed; empty for a pure number.
    pub unit: &'static str,
    /// How it is computed, in the names of its terms.
    pub formula: &'static str,
    /// What went in. A term that is itself a figure bears that figure's name.
    pub terms: Vec<Term>,
    /// Where formula and weakest term come from.
    pub source: String,
    /// Basis of the weakest term.
    pub basis: Basis,
}

/// One input of a figure.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct Term {
    /// What it is, in words.
    pub name: String,
    /// Its value and band.
    pub value: Band,
    /// Its unit, as printed; empty for a pure number.
    pub unit: &'static str,
    /// Where it comes from.
    pub source: String,
    /// How far it can be trusted.
    pub basis: Basis,
    /// It is itself a figure, listed under the same name.
    pub is_figure: bool,
}

impl Term {
    /// Makes a term of a number of the book.
    pub fn of(name: impl Into<String>, number: &Number, unit: &'static str) -> Self {
        Self {
            name: name.into(),
            value: number.band,
            unit,
            source: number.source.clone(),
            basis: number.basis,
            is_figure: false,
        }
    }

    /// Makes an exact term: given by the job or measured on the drawing.
    pub fn given(name: impl Into<String>, value: f64, unit: &'static str, source: &str) -> Self {
        Self {
            name: name.into(),
            value: Band::exact(value),
            unit,
            source: source.to_owned(),
            basis: Basis::Given,
            is_figure: false,
        }
    }
}

impl Figure {
    /// Makes a figure from its terms; basis and source are those of the weakest term.
    pub fn new(
        name: impl Into<String>,
        value: Band,
        unit: &'static str,
        formula: &'static str,
        terms: Vec<Term>,
    ) -> Self {
        let weakest = terms.iter().max_by_key(|term| term.basis);
        let basis = weakest.map_or(Basis::Given, |term| term.basis);
        let source = weakest.map_or_else(String::new, |term| format!("{}: {}", term.name, term.source));
        Self {
            name: name.into(),
            value,
            unit,
            formula,
            terms,
            source,
            basis,
        }
    }

    /// Writes its value and band, without what they came from.
    pub fn value_alone<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        self.value.serialize(to)
    }

    /// Returns this figure as a term of another.
    pub fn term(&self) -> Term {
        Term {
            name: self.name.clone(),
            value: self.value,
            unit: self.unit,
            source: self.source.clone(),
            basis: self.basis,
            is_figure: true,
        }
    }
}
