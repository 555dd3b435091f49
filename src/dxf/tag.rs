use super::Error;

/// Longest piece of a bad value that an error quotes, in bytes.
const QUOTED: usize = 60;

/// One group: its code and its value, borrowed from the file.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tag<'a> {
    pub(super) code: i32,
    pub(super) value: Value<'a>,
    /// Line of the value (binary: number of the tag), counted from 1.
    pub(super) line: usize,
}

/// A value as it stands in the file. An ASCII file holds nothing but text.
#[derive(Clone, Copy, Debug)]
pub(super) enum Value<'a> {
    Text(&'a [u8]),
    Real(f64),
    Integer(i64),
}

impl<'a> Tag<'a> {
    /// Returns the value as the bytes of a name or word, without blanks around it.
    pub(super) fn word(&self) -> &'a [u8] {
        self.text().trim_ascii()
    }

    /// Returns the value as the bytes of a text, blanks and all; nothing when it is a number of a binary file.
    pub(super) fn text(&self) -> &'a [u8] {
        match self.value {
            Value::Text(bytes) => bytes,
            Value::Real(_) | Value::Integer(_) => b"",
        }
    }

    /// Returns the value as a finite number. `entity` is named in the error.
    pub(super) fn real(&self, entity: &[u8]) -> Result<f64, Error> {
        let number = match self.value {
            Value::Text(bytes) => parse_real(bytes),
            Value::Real(number) => Some(number),
            Value::Integer(number) => Some(number as f64),
        };
        match number {
            Some(number) if number.is_finite() => Ok(number),
            Some(_) => Err(self.not_a("finite number", entity)),
            None => Err(self.not_a("number", entity)),
        }
    }

    /// Returns the value as a whole number; `1.0` is one.
    pub(super) fn integer(&self, entity: &[u8]) -> Result<i64, Error> {
        let whole = |number: f64| (number.fract() == 0.0 && number.abs() < 9e15).then_some(number as i64);
        match self.value {
            Value::Text(bytes) => parse_integer(bytes).or_else(|| parse_real(bytes).and_then(whole)),
            Value::Real(number) => whole(number),
            Value::Integer(number) => Some(number),
        }
        .ok_or_else(|| self.not_a("whole number", entity))
    }

    /// Returns the value as a whole number of 32 bits: flags, counts of small things, colours.
    pub(super) fn flags(&self, entity: &[u8]) -> Result<i32, Error> {
        i32::try_from(self.integer(entity)?).map_err(|_| self.not_a("whole number of 32 bits", entity))
    }

    /// Returns the value as a handle; `None` when it is not hexadecimal. An empty handle is 0, as an absent one.
    pub(super) fn handle(&self) -> Option<u64> {
        let word = self.word();
        if word.is_empty() {
            return Some(0);
        }
        u64::from_str_radix(str::from_utf8(word).ok()?, 16).ok()
    }

    fn not_a(&self, wanted: &'static str, entity: &[u8]) -> Error {
        let text = match self.value {
            Value::Text(bytes) => quoted(bytes),
            Value::Real(number) => number.to_string(),
            Value::Integer(number) => number.to_string(),
        };
        Error::Number {
            line: self.line,
            code: self.code,
            entity: quoted(entity),
            text,
            wanted,
        }
    }
}

/// Returns the bytes as an error message shows them: short, and readable whatever they are.
pub(super) fn quoted(bytes: &[u8]) -> String {
    let bytes = bytes.trim_ascii();
    let shown: String = String::from_utf8_lossy(&bytes[..bytes.len().min(QUOTED)])
        .chars()
        .map(|c| if c.is_control() { '\u{FFFD}' } else { c })
        .collect();
    if bytes.len() > QUOTED {
        shown + "…"
    } else {
        shown
    }
}

fn parse_real(bytes: &[u8]) -> Option<f64> {
    let word = bytes.trim_ascii();
    parse_short_decimal(word).or_else(|| str::from_utf8(word).ok()?.parse().ok())
}

/// What most numbers of a drawing are: some digits with a point among them. The digits make a whole number that
/// `f64` holds exactly, and so is the power of ten, so that the one division rounds as the standard parser
/// does (W. D. Clinger, "How to Read Floating Point Numbers Accurately", 1990, section 3). Half the time of
/// reading a large drawing was spent in that parser.
fn parse_short_decimal(word: &[u8]) -> Option<f64> {
    const POWERS: [f64; 16] = [
        1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
    ];
    const EXACT: u64 = 1 << f64::MANTISSA_DIGITS;
    let (negative, digits) = match word {
        [b'-', rest @ ..] => (true, rest),
        _ => (false, word),
    };
    if digits.len() > POWERS.len() {
        return None;
    }
    let mut whole: u64 = 0;
    let mut point = None;
    for (at, byte) in digits.iter().enumerate() {
        match byte {
            b'0'..=b'9' => whole = whole * 10 + u64::from(byte - b'0'),
            b'.' if point.is_none() => point = Some(at),
            _ => return None,
        }
    }
    let decimals = point.map_or(0, |at| digits.len() - at - 1);
    let number_of_digits = digits.len() - usize::from(point.is_some());
    if number_of_digits == 0 || whole > EXACT {
        return None;
    }
    let number = whole as f64 / POWERS[decimals];
    Some(if negative { -number } else { number })
}

fn parse_integer(bytes: &[u8]) -> Option<i64> {
    str::from_utf8(bytes.trim_ascii()).ok()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// The standard parser rounds to the nearest `f64`; ours gives the same, or leaves the word to it.
        #[test]
        fn short_decimals_are_those_of_the_standard_parser(word in "-?[0-9]{0,16}[.]?[0-9]{0,16}") {
            match parse_short_decimal(word.as_bytes()) {
                Some(number) => {
                    let standard: f64 = word.parse().expect("a number");
                    prop_assert_eq!(number.to_bits(), standard.to_bits());
                }
                None => prop_assert!(word.len() > 15 || word.parse::<f64>().is_err()),
            }
        }
    }

    #[test]
    fn what_is_no_short_decimal_is_left_to_the_standard_parser() {
        for word in [
            "",
            "-",
            ".",
            "+1",
            "1e5",
            "nan",
            "1.2.3",
            "12345678901234567",
            "9007199254740993",
        ] {
            assert_eq!(parse_short_decimal(word.as_bytes()), None, "{word}");
        }
    }
}
