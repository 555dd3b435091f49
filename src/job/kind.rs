//! Kinds of values that the keys of a job file take: how each is read from the text of any front, and what it has to be. The limits are no
//! trade limits: a number beyond them is a slip of the pen, and would leave the range in which sums and quotients of `f64` still say
//! something.

use super::typed_number::{NotRead, typed_number};
use super::{JobFileError, JobWord, TabOptions, length};
use crate::tolerance::{FARTHEST_MM, LONGEST_GIVEN_MM, SAME_POINT_MM, SHORTEST_GIVEN_MM};
use crate::units::{unit_named, unit_names};

/// Ends of curves are not joined, nor curves replaced, over more than 10 mm.
const FARTHEST_READ_MM: f64 = 10.0;
/// No shop swings by more, K.
const LARGEST_SWING_K: f64 = 100.0;
/// Beyond it a corner is run as if there were no limit.
const MOST_OFFSETS: f64 = 1000.0;
/// More than a machine makes in its life.
const MOST_PIECES: f64 = 1_000_000.0;
/// A wall is at most square to the sheet.
const STEEPEST_DEG: f64 = 90.0;

/// A kind of value.
pub(super) struct ValueKind<T: 'static> {
    /// What stands for it in the help; empty: it is yes where it is given.
    pub(super) value_name: &'static str,
    /// The words that it may be, where there are no others.
    pub(super) words: fn() -> Vec<&'static str>,
    /// Reads it.
    pub(super) read: fn(&str) -> Result<T, String>,
    /// Refuses what it cannot be, as the value of a key.
    pub(super) check: fn(&'static str, &T) -> Result<(), JobFileError>,
}

impl<T> ValueKind<T> {
    const fn new(value_name: &'static str, read: fn(&str) -> Result<T, String>) -> Self {
        Self {
            value_name,
            words: Vec::new,
            read,
            check: |_, _| Ok(()),
        }
    }

    const fn that_is(self, check: fn(&'static str, &T) -> Result<(), JobFileError>) -> Self {
        Self { check, ..self }
    }
}

/// A length of the work, above 0.
pub(super) const LENGTH: ValueKind<f64> = ValueKind::new("LENGTH", length::length).that_is(|key, mm| {
    above_zero(key, *mm)?;
    within_range(key, *mm, [SHORTEST_GIVEN_MM, LONGEST_GIVEN_MM])
});

/// A length that says how the drawing is read.
pub(super) const READING: ValueKind<f64> = ValueKind::new("LENGTH", length::length).that_is(|key, mm| {
    above_zero(key, *mm)?;
    within_range(key, *mm, [SAME_POINT_MM, FARTHEST_READ_MM])
});

/// A length of which the book says whether it can be: what is none at all is refused where it is looked up there.
pub(super) const LOOKED_UP: ValueKind<f64> = ValueKind::new("LENGTH", length::signed).that_is(|key, mm| {
    if *mm > 0.0 {
        within_range(key, *mm, [SHORTEST_GIVEN_MM, LONGEST_GIVEN_MM])
    } else {
        Ok(())
    }
});

/// A shift to either side.
pub(super) const SHIFT: ValueKind<f64> = ValueKind::new("LENGTH", length::signed).that_is(|key, mm| {
    if !mm.is_finite() {
        return Err(JobFileError::NotFinite(key));
    }
    within_range(key, *mm, [-LONGEST_GIVEN_MM, LONGEST_GIVEN_MM])
});

/// A length of 0 or more that runs on.
pub(super) const OVERLAP: ValueKind<f64> =
    ValueKind::new("LENGTH", length::length_or_zero).that_is(|key, mm| {
        if !(mm.is_finite() && *mm >= 0.0) {
            return Err(JobFileError::Overlap);
        }
        within_range(key, *mm, [0.0, LONGEST_GIVEN_MM])
    });

/// A land below a taper.
pub(super) const LAND: ValueKind<f64> = ValueKind::new("LENGTH", length::length)
    .that_is(|key, mm| within_range(key, *mm, [0.0, LONGEST_GIVEN_MM]));

/// An angle to the axis of the wire.
pub(super) const DEGREES: ValueKind<f64> =
    ValueKind::new("DEG", number).that_is(|key, deg| within_range(key, *deg, [-STEEPEST_DEG, STEEPEST_DEG]));

/// A swing of temperature.
pub(super) const KELVINS: ValueKind<f64> = ValueKind::new("K", |text| {
    let above_zero = number(text).ok().filter(|k| *k > 0.0);
    above_zero.ok_or_else(|| "it is a number of kelvins above 0, such as 3".into())
})
.that_is(|key, kelvins| {
    above_zero(key, *kelvins)?;
    within_range(key, *kelvins, [SHORTEST_GIVEN_MM, LARGEST_SWING_K])
});

/// A number of offsets, 1 or more.
pub(super) const OFFSETS: ValueKind<f64> = ValueKind::new("OFFSETS", |text| {
    let limit = number(text).ok().filter(|limit| *limit >= 1.0);
    limit.ok_or_else(|| "it is a number of offsets of 1 or more, such as 1.5".into())
})
.that_is(|key, limit| {
    if !(limit.is_finite() && *limit >= 1.0) {
        return Err(JobFileError::SharpCorners(*limit));
    }
    within_range(key, *limit, [1.0, MOST_OFFSETS])
});

/// A number of pieces.
pub(super) const PIECES: ValueKind<usize> = ValueKind::new("N", whole_number).that_is(|key, pieces| {
    above_zero(key, *pieces as f64)?;
    within_range(key, *pieces as f64, [1.0, MOST_PIECES])
});

/// A number of passes: the book says how many there can be.
pub(super) const PASSES: ValueKind<usize> = ValueKind::new("N", whole_number);

/// A name in the book.
pub(super) const NAME: ValueKind<String> = ValueKind::new("NAME", |text| Ok(text.into()));

/// As the print has it.
pub(super) const PRINT: ValueKind<String> = ValueKind::new("TEXT", |text| Ok(text.into()));

/// A length of a tab, or none.
pub(super) const TAB: ValueKind<String> = ValueKind::new("LENGTH", |text| {
    if text == "none" {
        return Ok(text.into());
    }
    let mm = length::length(text);
    mm.map(|mm| mm.to_string())
        .map_err(|reason| format!("it is `none` or a length: {reason}"))
})
.that_is(|_, text| match TabOptions::length_of(text) {
    Some(_) => Ok(()),
    None => Err(JobFileError::Tab(text.clone())),
});

/// A unit of length.
pub(super) const UNIT: ValueKind<String> = ValueKind {
    words: || unit_names().collect(),
    ..ValueKind::new("UNIT", |text| {
        let unit = unit_named(text).map(|unit| unit.name.to_owned());
        unit.ok_or_else(|| format!("it is one of {}", unit_names().collect::<Vec<_>>().join(", ")))
    })
    .that_is(|_, name| match unit_named(name) {
        Some(_) => Ok(()),
        None => Err(JobFileError::Units(name.clone())),
    })
};

/// Width and height.
pub(super) const SIZE: ValueKind<[f64; 2]> = ValueKind::new("WxH", length::size)
    .that_is(|key, sides| sides.iter().try_for_each(|side| (LENGTH.check)(key, side)));

/// A place on the sheet.
pub(super) const PLACE: ValueKind<[f64; 2]> = ValueKind::new("X,Y", length::place).that_is(|key, place| {
    if place.iter().any(|mm| !mm.is_finite()) {
        return Err(JobFileError::NotFinite(key));
    }
    let each = |mm: &f64| within_range(key, *mm, [-FARTHEST_MM, FARTHEST_MM]);
    place.iter().try_for_each(each)
});

/// Yes or no.
pub(super) const YES: ValueKind<bool> =
    ValueKind::new("", |text| text.parse().map_err(|_| "it is true or false".into()));

/// One of a few words.
pub(super) const fn one_of<T: JobWord>(value_name: &'static str) -> ValueKind<T> {
    ValueKind {
        words: || T::WORDS.to_vec(),
        ..ValueKind::new(value_name, |text| {
            text.parse().map_err(|error: T::Err| error.to_string())
        })
    }
}

fn number(text: &str) -> Result<f64, String> {
    let number = typed_number(text).and_then(|number| {
        if number.is_finite() {
            Ok(number)
        } else {
            Err(NotRead::NoNumber)
        }
    });
    number.map_err(|reason| reason.to_string())
}

fn whole_number(text: &str) -> Result<usize, String> {
    text.trim()
        .parse()
        .map_err(|_| "it is no whole number, such as 12".into())
}

fn above_zero(key: &'static str, value: f64) -> Result<(), JobFileError> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(JobFileError::NotAboveZero(key))
    }
}

fn within_range(key: &'static str, value: f64, [least, most]: [f64; 2]) -> Result<(), JobFileError> {
    if (least..=most).contains(&value) {
        Ok(())
    } else {
        Err(JobFileError::Beyond {
            key,
            value,
            least,
            most,
        })
    }
}
