//! Numbers as printed: fixed decimals, so that the same input gives the same bytes.

use crate::elementary::log10;

/// `value` with `decimals` digits after the point, and no minus before a zero.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    if let Some(text) = fixed_by_integer(value, decimals) {
        return text;
    }
    let text = format!("{value:.decimals$}");
    if text.starts_with('-') && !text.contains(|c: char| c.is_ascii_digit() && c != '0') {
        text[1..].into()
    } else {
        text
    }
}

/// As [`fixed`], several times faster, where the digits are those of an integer: `None` where rounding of the product could
/// decide the last digit, for large values and for many decimals.
fn fixed_by_integer(value: f64, decimals: usize) -> Option<String> {
    const POWERS: [u64; 7] = [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000];
    // The product is off by less than a millionth below this, and nothing near a tie is decided here.
    const LARGEST: f64 = 1e9;
    const FROM_TIE: f64 = 0.001;
    let power = *POWERS.get(decimals)?;
    let scaled = value.abs() * power as f64;
    let near_tie = (scaled.fract() - 0.5).abs() < FROM_TIE;
    if near_tie || scaled.is_nan() || scaled >= LARGEST {
        return None;
    }
    let digits = scaled.round() as u64;
    let sign = if value < 0.0 && digits > 0 { "-" } else { "" };
    let (whole, part) = (digits / power, digits % power);
    Some(if decimals == 0 {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{part:0decimals$}")
    })
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
        log10(value.abs()).floor() as i32
    };
    short(value, (DIGITS - 1 - leading).clamp(decimals, 12) as usize)
}

/// Text from a drawing without what could steer a terminal, break a line, turn the order of what is read or end the parsing of XML.
pub(crate) fn plain(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            // What XML 1.0, section 2.2, leaves out of its characters, beside controls.
            '\u{fffe}' | '\u{ffff}' => shown.push('\u{fffd}'),
            _ if c.is_control() => shown.push('\u{fffd}'),
            // The explicit formatting characters of bidirectional text: UAX #9, section 2.
            '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
                shown.extend(c.escape_unicode());
            }
            _ => shown.push(c),
        }
    }
    shown
}

/// Returns a text of our own lines in which names of strangers stand, without what could steer a terminal.
pub(crate) fn plain_lines(text: &str) -> String {
    let lines: Vec<String> = text.split('\n').map(plain).collect();
    lines.join("\n")
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
    }

    /// The standard library's formatting is exact.
    #[test]
    fn the_fast_way_gives_the_digits_of_the_exact_one() {
        let mut fast = 0;
        for decimals in 0..=7 {
            for i in -4000..4000_i32 {
                for value in [
                    f64::from(i) * 0.0005,
                    f64::from(i) * 0.012_345_67,
                    f64::from(i) * 12.345,
                    f64::from(i).powi(3),
                ] {
                    let exact = format!("{value:.decimals$}");
                    let exact = match exact.strip_prefix('-') {
                        Some(zero) if !zero.contains(|c: char| c.is_ascii_digit() && c != '0') => zero,
                        _ => &exact,
                    };
                    assert_eq!(fixed(value, decimals), exact);
                    fast += usize::from(fixed_by_integer(value, decimals).is_some());
                }
            }
        }
        assert!(fast > 100_000, "{fast}");
    }
}
