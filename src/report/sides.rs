//! Says of each contour what it is for, which side stays and where that comes from: the same in every format.

use serde::Serialize;

use super::words;
use crate::check::question_words::size;
use crate::contour::{Contour, Role, SideFrom};
use crate::job::Purpose;
use crate::message::Message;
use crate::message::number::counted;
use crate::plan::Inspection;

/// Where the material of an edge stays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub(super) enum KeptSide {
    /// The material inside stays: a part.
    Inside,
    /// The material outside stays: an opening.
    Outside,
}

impl KeptSide {
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Outside => "outside",
        }
    }
}

/// Returns the sizes of the smallest and of the largest of some contours, as [`size`] gives them; `None` of none.
pub(super) fn sizes_in_words(contours: &[&Contour]) -> Option<(Message, Message)> {
    let extent = |contour: &Contour| contour.bounds.width().max(contour.bounds.height());
    let by_extent = |a: &&&Contour, b: &&&Contour| extent(a).total_cmp(&extent(b));
    let smallest = contours.iter().min_by(by_extent)?;
    let largest = contours.iter().max_by(by_extent)?;
    Some((size(smallest, false), size(largest, false)))
}

/// Returns what a contour is for: `part` or `opening` where the side of one to be cut was given.
pub(super) fn purpose_with_side(contour: &Contour) -> Purpose {
    match (contour.purpose, contour.side_from, contour.role) {
        (Purpose::Cut, SideFrom::Given, Role::Outside) => Purpose::Part,
        (Purpose::Cut, SideFrom::Given, Role::Opening) => Purpose::Opening,
        (purpose, ..) => purpose,
    }
}

/// Returns the side of an edge where material stays; `None` where that is open, and of what bounds nothing.
pub(super) fn kept_side(contour: &Contour) -> Option<KeptSide> {
    match contour.role {
        _ if !contour.keeps_known_side() => None,
        Role::Outside => Some(KeptSide::Inside),
        Role::Opening => Some(KeptSide::Outside),
        Role::Open => None,
    }
}

/// Returns where the side of a contour comes from; `None` of one that bounds nothing and about which nothing is asked.
pub(super) fn side_source(contour: &Contour) -> Option<SideFrom> {
    let asked_about = matches!(contour.side_from, SideFrom::Unclear | SideFrom::Assumed);
    (contour.bounds_material() || asked_about).then_some(contour.side_from)
}

/// Where the sides of the contours to be cut come from, counted.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct SideSources {
    drawn: usize,
    given: usize,
    assumed: usize,
    open: usize,
    /// Questions that are answered by their first reading.
    first_readings: usize,
}

impl SideSources {
    pub(super) fn of(inspection: &Inspection) -> Self {
        let mut sources = Self {
            first_readings: inspection
                .questions
                .list
                .iter()
                .filter(|question| question.assumed)
                .count(),
            ..Self::default()
        };
        let cut = inspection.contours.list.iter();
        for contour in cut.filter(|contour| contour.purpose == Purpose::Cut && contour.bounds_material()) {
            match contour.side_from {
                SideFrom::Drawn => sources.drawn += 1,
                SideFrom::Given => sources.given += 1,
                SideFrom::Assumed => sources.assumed += 1,
                SideFrom::Unclear => sources.open += 1,
            }
        }
        sources
    }

    /// Returns the counts in words, `5 drawn, 2 given, 1 assumed`; `None` where nothing is to be cut.
    pub(super) fn in_words(&self) -> Option<String> {
        let counts = [
            (self.drawn, SideFrom::Drawn),
            (self.given, SideFrom::Given),
            (self.assumed, SideFrom::Assumed),
            (self.open, SideFrom::Unclear),
        ];
        let counts = counts.into_iter().filter(|(count, _)| *count > 0);
        let words: Vec<String> = counts
            .map(|(count, from)| format!("{count} {}", words::side_source(from)))
            .collect();
        let first = self.first_reading_words().into_iter();
        let words = words.join(", ");
        let words = (!words.is_empty()).then_some(words).into_iter().chain(first);
        let words: Vec<String> = words.collect();
        (!words.is_empty()).then(|| words.join("; "))
    }

    /// Says of how many questions the first reading is taken; `None` of none.
    fn first_reading_words(&self) -> Option<String> {
        (self.first_readings > 0).then(|| {
            format!(
                "first reading taken of {}",
                counted(self.first_readings, "question")
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn sources_of_sides_are_counted_and_first_readings_told() {
        let plate = sample::plate();
        assert_eq!(SideSources::of(&plate).in_words().as_deref(), Some("2 drawn"));
        let sources = SideSources {
            drawn: 5,
            given: 2,
            assumed: 1,
            open: 0,
            first_readings: 3,
        };
        let words = "5 drawn, 2 given, 1 assumed; first reading taken of 3 questions";
        assert_eq!(sources.in_words().as_deref(), Some(words));
        assert_eq!(SideSources::default().in_words(), None);
    }
}
