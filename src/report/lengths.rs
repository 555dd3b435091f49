//! Lengths as printed, in millimetres or in inches. Reports are written in millimetres and micrometres; what is asked for in
//! inches is turned round once, at the end, with enough decimals to lose nothing of what was printed.

use crate::message::number::short;
use crate::units::roughness::UIN_PER_UM;
use crate::units::{MM_PER_INCH, UM_PER_MM};

pub use crate::message::Lengths;

/// A metric unit as printed, and what stands for it in inches.
struct Turned {
    metric: &'static str,
    inch: &'static str,
    /// Of the unit in inches in one metric one.
    factor: f64,
    /// Decimals that keep what a decimal of the metric number says.
    more_decimals: isize,
    least_decimals: usize,
}

const UM_PER_INCH: f64 = MM_PER_INCH * UM_PER_MM;
const MM2_PER_IN2: f64 = MM_PER_INCH * MM_PER_INCH;

/// The longest first, since one begins with another.
const TURNED: [Turned; 5] = [
    turned("mm²/min", "in²/min", 1.0 / MM2_PER_IN2, 3, 4),
    turned("mm/min", "in/min", 1.0 / MM_PER_INCH, 2, 3),
    turned("mm²", "in²", 1.0 / MM2_PER_IN2, 3, 4),
    turned("mm", "in", 1.0 / MM_PER_INCH, 2, 4),
    turned("µm", "in", 1.0 / UM_PER_INCH, 5, 5),
];

/// Of a roughness.
const ROUGHNESS: Turned = turned("µm", "µin", UIN_PER_UM, -1, 0);

const fn turned(
    metric: &'static str,
    inch: &'static str,
    factor: f64,
    more_decimals: isize,
    least_decimals: usize,
) -> Turned {
    Turned {
        metric,
        inch,
        factor,
        more_decimals,
        least_decimals,
    }
}

impl Turned {
    fn decimals(&self, of: usize) -> usize {
        of.saturating_add_signed(self.more_decimals)
            .max(self.least_decimals)
    }

    /// Returns a number as printed.
    fn number(&self, text: &str) -> Option<f64> {
        text.parse::<f64>().ok().map(|value| value * self.factor)
    }
}

impl Lengths {
    /// Text with its lengths in this unit; `names` come from the user and are left as they are.
    pub(super) fn prose(self, text: &str, names: &[&str]) -> String {
        match self {
            Self::Mm => text.to_owned(),
            Self::Inch => prose(text, names),
        }
    }
}

fn prose(text: &str, names: &[&str]) -> String {
    // A name that reads like a length is kept as the user wrote it.
    let like_a_length =
        |name: &&&str| !name.is_empty() && text.contains(**name) && prose(name, &[]) != **name;
    if let Some(name) = names.iter().find(like_a_length) {
        let parts: Vec<String> = text.split(name).map(|part| prose(part, names)).collect();
        return parts.join(name);
    }
    let found = numbers(text);
    let mut units: Vec<Option<&Turned>> = Vec::with_capacity(found.len());
    // From the end, since a number may have the unit of the one behind it.
    for (i, number) in found.iter().enumerate().rev() {
        let behind = &text[number.end..];
        let next = found.get(i + 1);
        let between = next.map_or("", |next| &text[number.end..next.at]);
        let next_unit = || units.last().copied().flatten();
        let before = &text[..number.at];
        let unit = unit_behind(behind, before).or_else(|| match between {
            " to " | " (" | " × " | " x " | "/Ø" if between != " (" || is_band(&text[number.at..]) => {
                next_unit()
            }
            // A place: both are lengths even where no unit follows.
            " y " if before.ends_with("x ") => next_unit().or(Some(&TURNED[3])),
            _ if before.ends_with(" y ") && is_place(text, &found, i) => Some(&TURNED[3]),
            _ => None,
        });
        units.push(unit.map(|unit| roughness_or(unit, before)));
    }
    units.reverse();
    let mut turned = String::with_capacity(text.len());
    let mut from = 0;
    for (number, unit) in found.iter().zip(units) {
        let Some(unit) = unit else { continue };
        let Some(value) = unit.number(&text[number.at..number.end]) else {
            continue;
        };
        turned.push_str(&text[from..number.at]);
        turned.push_str(&short(value, unit.decimals(number.decimals)));
        from = number.end;
        if let Some((gap, metric)) = written_unit(&text[from..])
            && metric.metric == unit.metric
        {
            turned.push_str(&text[from..from + gap]);
            turned.push_str(unit.inch);
            from += gap + metric.metric.len();
        }
    }
    turned + &text[from..]
}

/// µm behind `Ra` or `Rz` are of a roughness.
fn roughness_or<'a>(unit: &'a Turned, before: &str) -> &'a Turned {
    let before = before.trim_end_matches(|c: char| c.is_ascii_digit() || "(. to".contains(c));
    if unit.metric == ROUGHNESS.metric && (before.ends_with("Ra") || before.ends_with("Rz")) {
        &ROUGHNESS
    } else {
        unit
    }
}

/// `120 (60 to 240)`.
fn is_band(text: &str) -> bool {
    let inside = text.split_once(" (").and_then(|(_, rest)| rest.split_once(')'));
    inside.is_some_and(|(inside, _)| {
        inside
            .split_once(" to ")
            .is_some_and(|(low, high)| low.parse::<f64>().is_ok() && high.parse::<f64>().is_ok())
    })
}

/// Whether number `i` is the y of a place.
fn is_place(text: &str, found: &[NumberPlace], i: usize) -> bool {
    i.checked_sub(1)
        .map(|x| found[x])
        .is_some_and(|x| text[x.end..found[i].at] == *" y " && text[..x.at].ends_with("x "))
}

fn unit_behind(behind: &str, before: &str) -> Option<&'static Turned> {
    let (gap, unit) = written_unit(behind)?;
    // A bracket that closes behind the number belongs to a band.
    (!behind[..gap].starts_with(')') || before.ends_with(" to ")).then_some(unit)
}

/// Returns the metric unit that stands right behind a number, and how far behind.
fn written_unit(behind: &str) -> Option<(usize, &'static Turned)> {
    let unit = behind.strip_prefix(')').unwrap_or(behind).strip_prefix(' ')?;
    let gap = behind.len() - unit.len();
    let metric = TURNED.iter().find(|turned| unit.starts_with(turned.metric))?;
    let ends = unit[metric.metric.len()..].chars().next();
    let word_goes_on = ends.is_some_and(|c| c.is_alphanumeric() || matches!(c, '/' | '²' | '³' | '_'));
    (!word_goes_on).then_some((gap, metric))
}

/// Where a number stands.
#[derive(Clone, Copy)]
struct NumberPlace {
    at: usize,
    end: usize,
    decimals: usize,
}

/// Returns the decimal numbers of a text that are words of their own.
fn numbers(text: &str) -> Vec<NumberPlace> {
    let bytes = text.as_bytes();
    let mut found = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        if !bytes[at].is_ascii_digit() {
            at += 1;
            continue;
        }
        let whole = bytes[at..]
            .iter()
            .take_while(|byte| byte.is_ascii_digit())
            .count();
        let mut end = at + whole;
        let mut decimals = 0;
        if bytes.get(end) == Some(&b'.') {
            decimals = bytes[end + 1..]
                .iter()
                .take_while(|byte| byte.is_ascii_digit())
                .count();
            if decimals > 0 {
                end += 1 + decimals;
            }
        }
        let before = text[..at].chars().next_back();
        let behind = text[end..].chars().next();
        let part_of_word = before
            .is_some_and(|c| c.is_alphanumeric() && c != 'Ø' || matches!(c, '.' | '_' | '/' | ':'))
            || behind.is_some_and(|c| c.is_alphanumeric() || matches!(c, '_' | ':'));
        if !part_of_word {
            let minus = text[..at].ends_with('-')
                && text[..at - 1]
                    .chars()
                    .next_back()
                    .is_none_or(|c| " (±".contains(c));
            found.push(NumberPlace {
                at: at - usize::from(minus),
                end,
                decimals,
            });
        }
        at = end.max(at + 1);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inch(text: &str) -> String {
        Lengths::Inch.prose(text, &[])
    }

    /// 1 in = 25.4 mm exactly, 1 µm = 39.37 µin: NIST Special Publication 811 (2008), appendix B.
    #[test]
    fn lengths_in_words_are_turned_round() {
        for (metric, wanted) in [
            (
                "tool-steel, 25.4 mm thick, 0.254 mm brass wire, 4 passes",
                "tool-steel, 1 in thick, 0.01 in brass wire, 4 passes",
            ),
            (
                "contour 2, x 40 y -20.5 mm: up to 12.7 µm stay",
                "contour 2, x 1.5748 y -0.8071 in: up to 0.0005 in stay",
            ),
            (
                "ends at x 25.4000 y 0.0000 and x 50.8 y 2.54",
                "ends at x 1 y 0 and x 2 y 0.1",
            ),
            ("1000 (500 to 2000) mm²/min", "1.55 (0.775 to 3.1) in²/min"),
            ("is 254 x 25.4 mm", "is 10 x 1 in"),
            ("645.16 mm² left", "1 in² left"),
            ("Ra   0.40 (0.32 to 0.50) µm", "Ra   15.7 (12.6 to 19.7) µin"),
            ("would leave Ra 1.60 µm", "would leave Ra 63 µin"),
            ("±2.54 µm, and 25.4 µm known", "±0.0001 in, and 0.001 in known"),
            ("-5.08 to 5.08 µm of size", "-0.0002 to 0.0002 in of size"),
        ] {
            assert_eq!(inch(metric), wanted);
            assert_eq!(Lengths::Mm.prose(metric, &[]), metric);
        }
    }

    #[test]
    fn what_is_no_length_stays() {
        for text in [
            "25H7, N5, 3 contours, 12 m of wire, 0.35 kg, 8.2 min (4 to 16), 2.5 g",
            "contour 3 (attended)",
            "plate.dxf:812 layer A2",
            "up to ISO 286-1 IT6",
            "12 mmol, 5 mm³, 7 mm_wide",
            "",
            "pass 2 of 4, 30°",
            "21.0 h (11 to 38)",
        ] {
            assert_eq!(inch(text), text);
        }
        assert_eq!(inch("contour 3 (25.4 mm wide)"), "contour 3 (1 in wide)");
        assert_eq!(inch("pass 2, 25.4 mm"), "pass 2, 1 in");
    }

    #[test]
    fn names_of_the_user_stay() {
        let text = "plate 30 mm.dxf: layer 25.4 mm: 25.4 mm to cut";
        assert_eq!(
            Lengths::Inch.prose(text, &["plate 30 mm.dxf", "layer 25.4 mm", "CUT", ""]),
            "plate 30 mm.dxf: layer 25.4 mm: 1 in to cut"
        );
    }
}
