//! Finds the names of a job that are missing in the drawing.

use super::Contours;
use super::purposes::same_name;
use crate::drawing::Drawing;
use crate::job::{GivenName, NameKind};
use crate::shop::nearest;

/// How many names of the drawing are listed where none is like the one given.
const LISTED: usize = 8;

/// A name that is missing in the drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MissingName {
    /// As given.
    pub name: GivenName,
    /// The name of the drawing that is most like it, if any is like it.
    pub nearest: Option<String>,
    /// What the drawing has instead, in words.
    pub there: String,
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
            numbered(name, &colors)
        }
        NameKind::Contour => {
            let numbers: Vec<i32> = (1..).take(contours?.list.len()).collect();
            numbered(name, &numbers)
        }
    };
    names.into_iter().filter_map(missing).collect()
}

/// Returns a name that none of `known` equals without case.
fn among<'a>(name: &GivenName, known: impl Iterator<Item = &'a str> + Clone) -> Option<MissingName> {
    if known.clone().any(|other| same_name(other, &name.written)) {
        return None;
    }
    let listed: Vec<String> = known.clone().map(|other| format!("`{other}`")).collect();
    Some(MissingName {
        nearest: nearest(&name.written, known).map(str::to_owned),
        there: list(name.kind, &listed),
        name: name.clone(),
    })
}

/// Returns a number that is none of `known`, which are sorted.
fn numbered(name: &GivenName, known: &[i32]) -> Option<MissingName> {
    let number: Option<i32> = name.written.parse().ok();
    if number.is_some_and(|number| known.binary_search(&number).is_ok()) {
        return None;
    }
    let off = |other: &i32| number.map_or(u32::MAX, |number| other.abs_diff(number));
    let listed: Vec<String> = match (name.kind, known) {
        (NameKind::Contour, [first, .., last]) => vec![format!("{first} to {last}")],
        _ => known.iter().map(ToString::to_string).collect(),
    };
    Some(MissingName {
        nearest: known
            .iter()
            .copied()
            .min_by_key(off)
            .map(|other| other.to_string()),
        there: list(name.kind, &listed),
        name: name.clone(),
    })
}

fn list(kind: NameKind, known: &[String]) -> String {
    let more = if known.len() > LISTED { " …" } else { "" };
    match known {
        [] => format!("the drawing has no {}", kind.word()),
        [one] if kind != NameKind::Contour => format!("the drawing has the {} {one} only", kind.word()),
        several => format!(
            "the drawing has {}s {}{more}",
            kind.word(),
            several[..several.len().min(LISTED)].join(", ")
        ),
    }
}

/// Writes a list of missing names as one sentence.
pub fn names_in_words(names: &[MissingName]) -> String {
    let words: Vec<String> = names.iter().map(MissingName::words).collect();
    words.join("; ")
}

impl MissingName {
    /// Names it and the likely one, in words.
    pub fn words(&self) -> String {
        let meant = match (&self.nearest, self.name.kind) {
            (None, _) => String::new(),
            (Some(nearest), NameKind::Layer | NameKind::Linetype) => format!(": did you mean `{nearest}`?"),
            (Some(nearest), NameKind::Contour | NameKind::Color) => format!(": the nearest is {nearest}"),
        };
        format!("{} stands for nothing in the drawing{meant}", self.name)
    }
}
