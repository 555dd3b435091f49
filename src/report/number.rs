//! Numbers as printed: fixed decimals, so that the same input gives the same bytes.

use crate::units::UM_PER_MM;

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
}
