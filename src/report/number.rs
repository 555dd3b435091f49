//! Numbers as printed: fixed decimals, so that the same input gives the same bytes.

use crate::units::{Band, UM_PER_MM};

/// `value` with `decimals` digits after the point, and no minus before a zero.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.starts_with('-') && !text.contains(|c: char| c.is_ascii_digit() && c != '0') {
        text[1..].into()
    } else {
        text
    }
}

/// `value` with at most `decimals` digits after the point, without trailing zeros.
pub(crate) fn short(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').into()
    } else {
        text
    }
}

/// `value` with at least `decimals` digits after the point, or as many as leave four digits of a small one,
/// without trailing zeros.
pub(crate) fn significant(value: f64, decimals: i32) -> String {
    const DIGITS: i32 = 4;
    let leading = if value == 0.0 {
        0
    } else {
        value.abs().log10().floor() as i32
    };
    short(value, (DIGITS - 1 - leading).clamp(decimals, 12) as usize)
}

/// A length in mm as micrometres, to a tenth.
pub(crate) fn um(length_mm: f64) -> String {
    short(length_mm * UM_PER_MM, 1)
}

/// Text from a drawing without what could steer a terminal or break a line.
pub(crate) fn plain(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}

/// A time and what it may be, in minutes, or in hours when that is long: `68.7 min (47.3 to 110.7)`.
pub(crate) fn duration(minutes: Band) -> String {
    const LONG_MIN: f64 = 600.0;
    const MIN_PER_H: f64 = 60.0;
    let (per_unit, unit) = if minutes.expected > LONG_MIN {
        (MIN_PER_H, "h")
    } else {
        (1.0, "min")
    };
    let [low, expected, high] =
        [minutes.low, minutes.expected, minutes.high].map(|minutes| fixed(minutes / per_unit, 1));
    format!("{expected} {unit} ({low} to {high})")
}

/// A value and what it may be, to four digits: `120 (60 to 240)`.
pub(crate) fn band(band: Band) -> String {
    let [low, expected, high] = [band.low, band.expected, band.high].map(|value| significant(value, 0));
    if band.low == band.high {
        expected
    } else {
        format!("{expected} ({low} to {high})")
    }
}

/// `1 contour`, `2 contours`.
pub(crate) fn counted(count: usize, noun: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {noun}{plural}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zero_has_no_sign_and_no_tail() {
        assert_eq!(fixed(-0.00004, 3), "0.000");
        assert_eq!(fixed(-0.4, 1), "-0.4");
        assert_eq!(short(120.500, 4), "120.5");
        assert_eq!(short(-0.0, 2), "0");
        assert_eq!(short(100.0, 0), "100");
        assert_eq!(um(0.13), "130");
        assert_eq!(um(0.0125), "12.5");
    }

    #[test]
    fn long_times_are_hours() {
        let minutes = Band {
            low: 40.0,
            expected: 60.0,
            high: 120.0,
        };
        assert_eq!(duration(minutes), "60.0 min (40.0 to 120.0)");
        assert_eq!(duration(minutes.scaled(20.0)), "20.0 h (13.3 to 40.0)");
    }
}
