//! Reads numbers as people write them: with a decimal point or comma, or as a fraction.

use std::fmt;

/// Why a text is not read as a number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NotRead {
    /// It is none.
    NoNumber,
    /// A comma may part thousands or decimals.
    TwoReadings {
        /// With a decimal comma.
        decimal: String,
        /// With a comma between thousands.
        thousands: String,
    },
}

impl fmt::Display for NotRead {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoNumber => f.write_str("it is no number"),
            Self::TwoReadings { decimal, thousands } => {
                write!(f, "it may be {decimal} or {thousands}: write one of them")
            }
        }
    }
}

/// Reads a number: `12.5`, `12,5`, `1e-3`, `1/2`, `1 1/2` or `1-1/2`. One comma is a decimal comma; before exactly three digits it
/// could part thousands as well, unless nothing but 0 stands before it, and is not guessed at.
pub(super) fn typed_number(text: &str) -> Result<f64, NotRead> {
    let text = text.trim();
    match text.split_once('/') {
        Some((above, below)) => fraction(above, below).ok_or(NotRead::NoNumber),
        None => decimal(text),
    }
}

fn decimal(text: &str) -> Result<f64, NotRead> {
    let plain = |text: &str| text.parse().map_err(|_| NotRead::NoNumber);
    let Some((whole, rest)) = text.split_once(',') else {
        return plain(text);
    };
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let unsigned = whole.trim_start_matches(['+', '-']);
    if !digits(unsigned) || !digits(rest) {
        return Err(NotRead::NoNumber);
    }
    if rest.len() == 3 && !unsigned.starts_with('0') && unsigned.len() <= 3 {
        return Err(NotRead::TwoReadings {
            decimal: format!("{whole}.{rest}"),
            thousands: format!("{whole}{rest}"),
        });
    }
    plain(&format!("{whole}.{rest}"))
}

/// Reads `1` and `2`, or `1 1` and `2`, with a sign before all of it.
fn fraction(above: &str, below: &str) -> Option<f64> {
    let digits = |text: &str| {
        let digits = text.bytes().all(|byte| byte.is_ascii_digit());
        text.parse::<u32>().ok().filter(|_| digits).map(f64::from)
    };
    let below = digits(below.trim()).filter(|below| *below > 0.0)?;
    let above = above.trim();
    let (sign, above) = match above.strip_prefix('-') {
        Some(above) => (-1.0, above),
        None => (1.0, above),
    };
    let (whole, above) = match above.split_once([' ', '-']) {
        Some((whole, above)) => (digits(whole)?, above.trim_start()),
        None => (0.0, above),
    };
    Some(sign * (whole + digits(above)? / below))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_and_fractions_are_read_and_nothing_is_guessed() {
        for (text, value) in [
            ("12.5", 12.5),
            ("3,5", 3.5),
            ("-0,02", -0.02),
            ("0,125", 0.125),
            ("1234,5", 1234.5),
            ("12,5000", 12.5),
            ("1e-3", 1e-3),
            ("1/2", 0.5),
            ("1 1/2", 1.5),
            ("2-3/8", 2.375),
            ("-1/4", -0.25),
        ] {
            assert_eq!(typed_number(text), Ok(value), "{text}");
        }
        for text in [
            "", ",5", "5,", "1,2,3", "1,5.2", "1/0", "1/", "/2", "1/2/3", "1.5/2", "--1/2", "1 /2 3", "1,5e3",
        ] {
            assert_eq!(typed_number(text), Err(NotRead::NoNumber), "{text}");
        }
        let two = NotRead::TwoReadings {
            decimal: "1.250".into(),
            thousands: "1250".into(),
        };
        assert_eq!(typed_number("1,250"), Err(two));
    }
}
