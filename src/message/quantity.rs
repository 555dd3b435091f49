//! A quantity as it is printed: value, unit and digits.

use super::lengths::Lengths;
use super::number::{fixed, short, significant};
use crate::elementary::log10;
use crate::units::roughness::UIN_PER_UM;
use crate::units::{Band, MIN_PER_HOUR, MM_PER_INCH, UM_PER_MM};

/// The symbol of a unit, as it is printed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum UnitSymbol {
    /// Millimetres.
    Mm,
    /// Micrometres, of lengths that are turned into inches.
    Um,
    /// Micrometres of Ra and Rz, that are turned into microinches.
    UmOfRoughness,
    /// Square millimetres.
    Mm2,
    /// Millimetres a minute.
    MmPerMin,
    /// Square millimetres a minute.
    Mm2PerMin,
    /// Minutes, printed in hours where they are many.
    Min,
    /// Any other, the same in both systems; empty where there is none.
    Same(&'static str),
}

/// How many digits are printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Digits {
    /// As many as tell the number from every other.
    All,
    /// Digits after the point.
    Fixed(usize),
    /// At most so many after the point, without trailing zeros.
    AtMost(usize),
    /// Four in all where the number is small, and at least so many after the point.
    Four(i32),
    /// A power of ten behind an `e`.
    Exponent,
}

/// A quantity value: a number and a unit, with what it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct QuantityValue {
    value: Band,
    unit: UnitSymbol,
    digits: Digits,
    /// A plus stands before a number that has no minus.
    is_signed: bool,
    /// The unit is left to what follows.
    is_bare: bool,
    /// What it may be stands before what is expected.
    is_range_first: bool,
}

impl UnitSymbol {
    /// Returns the unit that is written so.
    pub fn named(symbol: &'static str) -> Self {
        [
            Self::Mm,
            Self::Um,
            Self::Mm2,
            Self::MmPerMin,
            Self::Mm2PerMin,
            Self::Min,
        ]
        .into_iter()
        .find(|unit| unit.symbol(Lengths::Mm) == symbol)
        .unwrap_or(Self::Same(symbol))
    }

    /// Returns how it is written.
    pub const fn symbol(self, lengths: Lengths) -> &'static str {
        match (self, lengths) {
            (Self::Mm, Lengths::Mm) => "mm",
            (Self::Um | Self::UmOfRoughness, Lengths::Mm) => "µm",
            (Self::Mm2, Lengths::Mm) => "mm²",
            (Self::MmPerMin, Lengths::Mm) => "mm/min",
            (Self::Mm2PerMin, Lengths::Mm) => "mm²/min",
            (Self::Mm | Self::Um, Lengths::Inch) => "in",
            (Self::UmOfRoughness, Lengths::Inch) => "µin",
            (Self::Mm2, Lengths::Inch) => "in²",
            (Self::MmPerMin, Lengths::Inch) => "in/min",
            (Self::Mm2PerMin, Lengths::Inch) => "in²/min",
            (Self::Min, _) => "min",
            (Self::Same(symbol), _) => symbol,
        }
    }

    /// Writes a number of this unit in the one that is printed.
    fn number(self, value: f64, digits: Digits, lengths: Lengths, in_column: bool) -> String {
        let (factor, more, least) = self.turned(lengths);
        let metric = digits.of(value);
        if factor == 1.0 {
            return metric;
        }
        if digits == Digits::Exponent {
            return format!("{:.3e}", value * factor);
        }
        let written = match digits {
            Digits::AtMost(decimals) if in_column => decimals,
            _ => metric.split_once('.').map_or(0, |(_, part)| part.len()),
        };
        let decimals = written.saturating_add_signed(more).max(least);
        if in_column {
            fixed(value * factor, decimals)
        } else {
            short(value * factor, decimals)
        }
    }

    /// Returns what a number in this unit is multiplied by, how many decimals more keep what one of its decimals says, and
    /// how many there are at least.
    const fn turned(self, lengths: Lengths) -> (f64, isize, usize) {
        match (self, lengths) {
            (Self::Mm, Lengths::Inch) => (1.0 / MM_PER_INCH, 2, 4),
            (Self::Um, Lengths::Inch) => (1.0 / (MM_PER_INCH * UM_PER_MM), 5, 5),
            (Self::UmOfRoughness, Lengths::Inch) => (UIN_PER_UM, -1, 0),
            (Self::MmPerMin, Lengths::Inch) => (1.0 / MM_PER_INCH, 2, 3),
            (Self::Mm2 | Self::Mm2PerMin, Lengths::Inch) => (1.0 / (MM_PER_INCH * MM_PER_INCH), 3, 4),
            _ => (1.0, 0, 0),
        }
    }
}

impl QuantityValue {
    /// Makes one that is printed with all its digits.
    pub fn new(value: impl Into<Band>, unit: UnitSymbol) -> Self {
        Self {
            value: value.into(),
            unit,
            digits: Digits::All,
            is_signed: false,
            is_bare: false,
            is_range_first: false,
        }
    }

    /// With so many digits after the point.
    #[must_use]
    pub const fn fixed(mut self, decimals: usize) -> Self {
        self.digits = Digits::Fixed(decimals);
        self
    }

    /// With at most so many digits after the point, without trailing zeros.
    #[must_use]
    pub const fn at_most(mut self, decimals: usize) -> Self {
        self.digits = Digits::AtMost(decimals);
        self
    }

    /// With at least so many digits after the point, and four in all where the number is small.
    #[must_use]
    pub const fn four(mut self, decimals: i32) -> Self {
        self.digits = Digits::Four(decimals);
        self
    }

    /// As a power of ten: `1e-7`.
    #[must_use]
    pub const fn exponent(mut self) -> Self {
        self.digits = Digits::Exponent;
        self
    }

    /// With a plus before a number that has no minus.
    #[must_use]
    pub const fn signed(mut self) -> Self {
        self.is_signed = true;
        self
    }

    /// Without its unit, which stands at what follows.
    #[must_use]
    pub const fn bare(mut self) -> Self {
        self.is_bare = true;
        self
    }

    /// With what it may be first: `60 to 240, expected 120`.
    #[must_use]
    pub const fn range_first(mut self) -> Self {
        self.is_range_first = true;
        self
    }

    /// Returns what it is, with what it may be.
    pub const fn value(self) -> Band {
        self.value
    }

    /// Returns its unit.
    pub const fn unit(self) -> UnitSymbol {
        self.unit
    }

    /// Writes it in a sentence: `12.7 µm`, `1000 mm²/min (500 to 2000)`.
    pub fn written(self, lengths: Lengths) -> String {
        let (numbers, symbol) = self.numbers(lengths, false);
        let unit = match symbol {
            _ if self.is_bare => String::new(),
            "" | "°" => symbol.to_owned(),
            _ => format!(" {symbol}"),
        };
        self.spread(numbers, &unit)
    }

    /// Writes the number for a cell, whose column names the unit: every cell with the same digits.
    pub fn cell(self, lengths: Lengths) -> String {
        self.spread(self.numbers(lengths, true).0, "")
    }

    /// Writes its low end, what is expected and its high end for three cells; an end that is printed as what is expected is none.
    pub fn cells(self, lengths: Lengths) -> [Option<String>; 3] {
        let [low, expected, high] = self.numbers(lengths, true).0;
        [
            (low != expected).then_some(low),
            Some(expected.clone()),
            (high != expected).then_some(high),
        ]
    }

    fn spread(self, numbers: [String; 3], unit: &str) -> String {
        if self.is_range_first {
            range_first(numbers, unit)
        } else {
            spread(numbers, unit)
        }
    }

    /// Returns the low, the expected and the high number as printed, and the symbol of their unit.
    fn numbers(self, lengths: Lengths, in_column: bool) -> ([String; 3], &'static str) {
        let Band { low, expected, high } = self.value;
        let ends = [low, expected, high];
        if self.unit == UnitSymbol::Min && !in_column && expected > LONG_MIN {
            return (ends.map(hours_and_minutes), "");
        }
        let digits = self.digits.no_more_than(self.value);
        let numbers = ends.map(|value| {
            let sign = if self.is_signed && !value.is_sign_negative() {
                "+"
            } else {
                ""
            };
            format!("{sign}{}", self.unit.number(value, digits, lengths, in_column))
        });
        (numbers, self.unit.symbol(lengths))
    }
}

/// Minutes from which on hours are printed.
const LONG_MIN: f64 = 90.0;

/// Writes a time of many minutes, `5 h 17`; an end of it that is less than an hour as `58 min`.
fn hours_and_minutes(minutes: f64) -> String {
    let whole = minutes.round();
    if whole < MIN_PER_HOUR {
        return format!("{whole} min");
    }
    format!("{} h {:02}", (whole / MIN_PER_HOUR).floor(), whole % MIN_PER_HOUR)
}

impl Digits {
    /// Returns the digits that a band supports: two of its half-width.
    fn no_more_than(self, band: Band) -> Self {
        let half = 0.5 * (band.high - band.low);
        match self {
            Self::Fixed(decimals) if half > 0.0 => {
                let supported = (1.0 - log10(half).floor()).clamp(0.0, decimals as f64);
                Self::Fixed(supported as usize)
            }
            _ => self,
        }
    }

    fn of(self, value: f64) -> String {
        match self {
            Self::All => value.to_string(),
            Self::Fixed(decimals) => fixed(value, decimals),
            Self::AtMost(decimals) => short(value, decimals),
            Self::Four(decimals) => significant(value, decimals),
            Self::Exponent => format!("{value:e}"),
        }
    }
}

/// Puts what is expected before the ends of its range; an end that is printed as what is expected is no end.
fn spread([low, expected, high]: [String; 3], unit: &str) -> String {
    let range = match (low == expected, high == expected) {
        (true, true) => String::new(),
        (true, false) => format!(" (to {high})"),
        (false, true) => format!(" (from {low})"),
        (false, false) => format!(" ({low} to {high})"),
    };
    format!("{expected}{unit}{range}")
}

/// Puts the range before what is expected; an end that is printed as what is expected is left out.
fn range_first([low, expected, high]: [String; 3], unit: &str) -> String {
    match (low == expected, high == expected) {
        (true, true) => format!("expected {expected}{unit}"),
        (true, false) => format!("expected {expected}, up to {high}{unit}"),
        (false, true) => format!("from {low}, expected {expected}{unit}"),
        (false, false) => format!("{low} to {high}, expected {expected}{unit}"),
    }
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident: $unit:ident;)*) => {
        $($(#[$doc])* pub fn $name(value: impl Into<Band>) -> QuantityValue {
            QuantityValue::new(value, UnitSymbol::$unit)
        })*
    };
}

quantities! {
    /// Makes a length in millimetres.
    mm: Mm;
    /// Makes a small length in micrometres.
    um: Um;
    /// Makes an area in square millimetres.
    mm2: Mm2;
    /// Makes a feed in millimetres a minute.
    mm_per_min: MmPerMin;
    /// Makes an area rate in square millimetres a minute.
    mm2_per_min: Mm2PerMin;
    /// Makes a time in minutes, printed in hours and minutes where it is long.
    minutes: Min;
    /// Makes an Ra or Rz in micrometres.
    roughness_um: UmOfRoughness;
}

/// Makes a small length, given in millimetres, printed in micrometres.
pub fn um_of_mm(value_mm: f64) -> QuantityValue {
    um(value_mm * UM_PER_MM)
}

/// Makes an angle in degrees.
pub fn degrees(value: f64) -> QuantityValue {
    of_unit(value, "°")
}

/// Makes a quantity of any other unit, the same in both systems.
pub fn of_unit(value: impl Into<Band>, symbol: &'static str) -> QuantityValue {
    QuantityValue::new(value, UnitSymbol::Same(symbol))
}
