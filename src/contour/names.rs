//! Finds the names of a job that are missing in the drawing.

use super::Contours;
use super::purposes::same_name;
use crate::drawing::Drawing;
use crate::job::{GivenName, NameKind};
use crate::shop::nearest;

/// A name that is missing in the drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct MissingName {
    /// As given.
    pub name: GivenName,
    /// The name of the drawing that is most like it, if any is like it.
    pub nearest: Option<String>,
    /// What the drawing has instead.
    pub known: KnownNames,
}

/// What of a kind the drawing has.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum KnownNames {
    /// Layers or linetypes, by name.
    Names(Vec<String>),
    /// Colours, by number, sorted.
    Numbers(Vec<i32>),
    /// So many contours, numbered from 1.
    Contours(usize),
}

/// Returns those of `names` that are missing. Without `contours` the numbers of contours are passed over.
pub fn missing_names<'a>(
    drawing: &Drawing,
    contours: Option<&Contours>,
    names: impl IntoIterator<Item = &'a GivenName>,
) -> Vec<MissingName> {
    let missing = |name: &GivenName| match name.kind {
        NameKind::Layer => among(name, drawing.layers.iter().map(|layer| layer.name.as_str())),
        NameKind::Linetype => among(name, drawing.linetypes.iter().map(String::as_str)),
        NameKind::Color => {
            let mut colors: Vec<i32> = drawing.curves.iter().map(|curve| curve.origin.color).collect();
            colors.sort_unstable();
            colors.dedup();
            numbered(name, &colors, || KnownNames::Numbers(colors.clone()))
        }
        NameKind::Contour => {
            let count = contours?.list.len();
            let numbers: Vec<i32> = (1..).take(count).collect();
            numbered(name, &numbers, || KnownNames::Contours(count))
        }
    };
    names.into_iter().filter_map(missing).collect()
}

/// Returns a name that none of `known` equals without case.
fn among<'a>(name: &GivenName, known: impl Iterator<Item = &'a str> + Clone) -> Option<MissingName> {
    if known.clone().any(|other| same_name(other, &name.written)) {
        return None;
    }
    Some(MissingName {
        known: KnownNames::Names(known.clone().map(str::to_owned).collect()),
        nearest: nearest(&name.written, known).map(str::to_owned),
        name: name.clone(),
    })
}

/// Returns a number that is none of `known`, which are sorted; `there` says what the drawing has.
fn numbered(name: &GivenName, known: &[i32], there: impl Fn() -> KnownNames) -> Option<MissingName> {
    let number: Option<i32> = name.written.parse().ok();
    if number.is_some_and(|number| known.binary_search(&number).is_ok()) {
        return None;
    }
    let off = |other: &i32| number.map_or(u32::MAX, |number| other.abs_diff(number));
    Some(MissingName {
        nearest: known
            .iter()
            .copied()
            .min_by_key(off)
            .map(|other| other.to_string()),
        known: there(),
        name: name.clone(),
    })
}
