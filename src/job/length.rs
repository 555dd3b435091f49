//! Reads lengths as they are written on every front: millimetres, or any unit after the number.

use super::typed_number::{NotRead, typed_number};
use crate::tolerance::TYPED_STEPS_PER_MM;
use crate::units::unit_named;

/// What a length looks like, for errors.
const WRITE: &str = "write millimetres, such as 0.25, or the unit too, such as 0.010in, 10thou or 12um";

/// No number takes more characters.
const LONGEST_NUMBER: usize = 40;

/// Reads a length above 0, in mm.
pub fn length(text: &str) -> Result<f64, String> {
    signed(text).and_then(|mm| {
        if mm > 0.0 {
            Ok(mm)
        } else {
            Err("it must be above 0".into())
        }
    })
}

/// Reads a length of 0 or more, in mm.
pub fn length_or_zero(text: &str) -> Result<f64, String> {
    signed(text).and_then(|mm| {
        if mm >= 0.0 {
            Ok(mm)
        } else {
            Err("it is a length of 0 or more".into())
        }
    })
}

/// Reads a signed length, in mm.
pub fn signed(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let (value, unit) = number_and_unit(text)?;
    let mm = match unit {
        "" => value,
        name => {
            let unit = unit_named(name).ok_or_else(|| format!("`{name}` is no unit of length; {WRITE}"))?;
            // 3 in are 76.2 mm, not 76.19999999999999.
            (value * unit.factor_to_mm * TYPED_STEPS_PER_MM).round() / TYPED_STEPS_PER_MM
        }
    };
    if mm.is_finite() {
        Ok(mm)
    } else {
        Err("it is too large, or no number".into())
    }
}

/// Whether a text is a number without a unit behind it.
pub fn has_no_unit(text: &str) -> bool {
    number_and_unit(text.trim()).is_ok_and(|(_, unit)| unit.is_empty())
}

/// Parts a number from the unit behind it, which begins at the first letter but for the exponent of a number.
fn number_and_unit(text: &str) -> Result<(f64, &str), String> {
    let ends = (1..=text.len().min(LONGEST_NUMBER))
        .rev()
        .filter(|at| text.is_char_boundary(*at));
    for at in ends {
        match typed_number(&text[..at]) {
            Ok(value) => return Ok((value, text[at..].trim())),
            Err(NotRead::NoNumber) => {}
            Err(two @ NotRead::TwoReadings { .. }) => return Err(two.to_string()),
        }
    }
    Err(format!("{}; {WRITE}", NotRead::NoNumber))
}

/// Reads width and height, such as `100x60` or `4x2.5in`, in mm: a unit behind the second counts for both.
pub fn size(text: &str) -> Result<[f64; 2], String> {
    pair(text, 'x', length)
        .map_err(|reason| format!("it is two lengths above 0, such as 100x60 or 4x2.5in: {reason}"))
}

/// Reads x and y, such as `10.5,4` or `0.4,0.16in`, in mm: a unit behind the second counts for both.
pub fn place(text: &str) -> Result<[f64; 2], String> {
    pair(text, ',', signed)
        .map_err(|reason| format!("a place is x and y, such as 10.5,4 or 0.4,0.16in: {reason}"))
}

fn pair(text: &str, between: char, read: fn(&str) -> Result<f64, String>) -> Result<[f64; 2], String> {
    let (first, second) = text
        .split_once(between)
        .ok_or_else(|| format!("`{between}` is missing between them"))?;
    if second.contains(between) {
        return Err(format!("`{between}` stands more than once"));
    }
    let unit = second.trim_start_matches(|c: char| !c.is_alphabetic() && !matches!(c, '"' | '\''));
    let bare = has_no_unit(first);
    let first = if bare {
        format!("{first}{unit}")
    } else {
        first.to_owned()
    };
    Ok([read(&first)?, read(second)?])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(read: Result<f64, String>, mm: f64) {
        let value = read.expect("a length");
        assert!((value - mm).abs() <= 1e-12 * mm.abs(), "{value} is not {mm}");
    }

    /// 1 in = 25.4 mm exactly: NIST Special Publication 811 (2008), appendix B.
    #[test]
    fn a_length_carries_its_unit() {
        near(length("0.25"), 0.25);
        near(length("2.5e-1"), 0.25);
        near(length("0.010in"), 0.254);
        near(length(" 1.25 in "), 31.75);
        near(length("10thou"), 0.254);
        near(length("10 mil"), 0.254);
        near(length("1.5\""), 38.1);
        near(length("250um"), 0.25);
        near(length("250 µm"), 0.25);
        near(length("3cm"), 30.0);
        near(length("3,5"), 3.5);
        near(length("0,25 mm"), 0.25);
        near(length("1/2 in"), 12.7);
        near(length("1/8in"), 3.175);
        near(length("1 1/4\""), 31.75);
        near(signed("-0.0005in"), -0.0127);
        assert_eq!(length_or_zero("0"), Ok(0.0));
    }

    #[test]
    fn what_is_no_length_is_refused_with_the_reason() {
        for text in [
            "0", "-1", "NaN", "inf", "1e999", "", "ten", "in", "1 cubit", "1inx", "mm1", "1e308km", "1/0in",
            "1,5,2", "e3",
        ] {
            assert!(length(text).is_err(), "{text}");
        }
        assert!(length("1 cubit").unwrap_err().contains("`cubit`"));
        let two = "it may be 1.250 or 1250: write one of them";
        assert_eq!(length("1,250mm"), Err(two.into()));
        assert!(length_or_zero("-1mm").is_err());
    }

    #[test]
    fn sizes_are_two_lengths_and_places_two_distances() {
        assert_eq!(size("100x60"), Ok([100.0, 60.0]));
        assert_eq!(size("12.5 x 8"), Ok([12.5, 8.0]));
        assert_eq!(size("4x2.5in"), size("4in x 2.5in"));
        near(size("4x2.5in").map(|[width, _]| width), 101.6);
        near(size("4x25.4mm").map(|[width, _]| width), 4.0);
        assert_eq!(place("10.5,-4"), Ok([10.5, -4.0]));
        near(place("-1,2in").map(|[x, _]| x), -25.4);
        for wrong in [
            "100", "100x", "x60", "100x60x5", "100x-6", "0x5", "axb", "1e999x5", "100x60xa",
        ] {
            assert!(size(wrong).is_err(), "{wrong}");
        }
        for wrong in ["", "10", "10,", "10,4,2", "x,4", "1,inf", "nan,2"] {
            assert!(place(wrong).is_err(), "{wrong}");
        }
    }
}
