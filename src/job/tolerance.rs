use serde::Serialize;

use super::DemandError;
use crate::message::{Message, message, mm};
use crate::tolerance::SHORTEST_GIVEN_MM;
use crate::units::fit::{Class, FitError, LARGEST_SIZE_MM, grade_um};
use crate::units::{Feature, Limits, MM_PER_INCH, UM_PER_MM, general_tolerance_mm};

/// A tolerance that the print calls for.
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerance {
    /// What it says.
    pub kind: ToleranceKind,
    /// As written.
    pub written: String,
}

/// Ways of giving a tolerance.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum ToleranceKind {
    /// Deviations of a size.
    Size(Limits),
    /// Width of the zone that the profile has to stay in, mm, half of it on either side of the wall.
    Profile(f64),
    /// An ISO 286 grade, half on either side of nominal.
    Grade(usize),
    /// An ISO 286 fit, with the nominal size where it is written.
    Fit {
        /// Nominal size, mm; the size of the feature when `None`.
        size_mm: Option<f64>,
        /// Letter and grade.
        class: Class,
    },
    /// A class of ISO 2768-1.
    General(char),
}

/// Whether limits are of a size between two walls or of one wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Scope {
    /// Of a size: an error of the offset counts on both its walls.
    OnSize,
    /// Of one wall.
    PerSide,
}

/// Says why there are no limits.
fn no_limits(error: FitError) -> Message {
    match error {
        FitError::Size { size_mm } => message!(
            "ISO 286 limits of {}: the table holds sizes above 0 up to {}",
            mm(size_mm),
            mm(LARGEST_SIZE_MM)
        ),
        FitError::Grade { grade } => message!("IT{}: grades run from IT1 to IT18", grade),
        FitError::Letter { class, size_mm } => message!(
            "{} at {}: the table holds d to h, js, k to s in ISO 286-2 sizes; give the limits as numbers",
            class,
            mm(size_mm)
        ),
    }
}

impl Tolerance {
    /// Reads `±0.01`, `0.01`, `+0.02/-0.01`, `±10 µm`, `±0.0005 in`, `profile 0.02`, `IT6`, `25H7`, `g6`,
    /// `ISO 2768-m`. Lengths are millimetres unless a unit is written.
    pub fn parse(text: &str) -> Result<Self, DemandError> {
        let written = text.trim().to_owned();
        let refuse = |reason: &str| DemandError::Tolerance {
            written: written.clone(),
            reason: reason.into(),
        };
        let plain = written.replace(',', ".").replace('μ', "µ").replace('−', "-");
        let kind = general(&plain)
            .or_else(|| grade(&plain))
            .or_else(|| fit(&plain))
            .or_else(|| profile(&plain))
            .or_else(|| size(&plain))
            .ok_or_else(|| {
                refuse("write `±0.01`, `+0.02/-0.01`, `profile 0.02`, `IT6`, `25H7` or `ISO 2768-m`")
            })?;
        let tolerance = Self {
            kind,
            written: written.clone(),
        };
        match &tolerance.kind {
            ToleranceKind::Size(limits) if limits.half_width_mm() <= 0.0 => {
                return Err(refuse("the upper limit has to lie above the lower one"));
            }
            ToleranceKind::Profile(width_mm) if *width_mm <= 0.0 => {
                return Err(refuse("a zone has a width above 0"));
            }
            ToleranceKind::Size(limits)
                if !is_cut_width(2.0 * limits.half_width_mm())
                    || limits.lower_mm.abs().max(limits.upper_mm.abs()) > WIDEST_MM =>
            {
                return Err(refuse(WIDTHS));
            }
            ToleranceKind::Profile(width_mm) if !is_cut_width(*width_mm) => {
                return Err(refuse(WIDTHS));
            }
            ToleranceKind::Grade(grade) if !(1..=18).contains(grade) => {
                return Err(refuse("grades run from IT1 to IT18"));
            }
            ToleranceKind::Fit {
                size_mm: Some(mm), ..
            } => {
                tolerance.limits(*mm)?;
            }
            _ => {}
        }
        Ok(tolerance)
    }

    /// Computes the limits for a feature of nominal size `size_mm`, and what they limit. A size written in the
    /// tolerance itself goes before it.
    pub fn limits(&self, size_mm: f64) -> Result<(Limits, Scope), DemandError> {
        let refuse = |reason: Message| DemandError::Tolerance {
            written: self.written.clone(),
            reason,
        };
        let both = |half_mm: f64| Limits {
            lower_mm: -half_mm,
            upper_mm: half_mm,
        };
        let limits = match &self.kind {
            ToleranceKind::Size(limits) => *limits,
            ToleranceKind::Profile(width_mm) => return Ok((both(width_mm / 2.0), Scope::PerSide)),
            ToleranceKind::Grade(grade) => {
                let width_um = grade_um(*grade, size_mm).map_err(|error| refuse(no_limits(error)))?;
                both(width_um / UM_PER_MM / 2.0)
            }
            ToleranceKind::Fit {
                size_mm: own_mm,
                class,
            } => class
                .limits(own_mm.unwrap_or(size_mm))
                .map_err(|error| refuse(no_limits(error)))?,
            ToleranceKind::General(class) => {
                general_tolerance_mm(*class, size_mm).map(both).ok_or_else(|| {
                    refuse(message!(
                        "ISO 2768-1 gives class {} no limit at {}",
                        *class,
                        mm(size_mm)
                    ))
                })?
            }
        };
        Ok((limits, Scope::OnSize))
    }

    /// Returns the feature that a fit is written for; `None` where the tolerance does not say.
    pub fn feature(&self) -> Option<Feature> {
        match &self.kind {
            ToleranceKind::Fit { class, .. } => Some(class.feature),
            _ => None,
        }
    }
}

/// No limit lies farther from the drawing, mm.
const WIDEST_MM: f64 = 100.0;
const WIDTHS: &str = "the limits have to lie at least 0.1 µm apart, and each at most 100 mm from the size";

fn is_cut_width(mm: f64) -> bool {
    (SHORTEST_GIVEN_MM..=2.0 * WIDEST_MM).contains(&mm)
}

fn general(text: &str) -> Option<ToleranceKind> {
    let lower = text.to_lowercase();
    let rest = lower.strip_prefix("iso").map_or(lower.as_str(), str::trim_start);
    let class = rest
        .strip_prefix("2768")?
        .trim_start_matches("-1")
        .trim_start_matches([' ', '-']);
    // A second letter is a class of ISO 2768-2, which is about form.
    let mut letters = class.chars();
    let first = letters.next().filter(|c| "fmcv".contains(*c))?;
    letters
        .all(|c| "hkl".contains(c))
        .then_some(ToleranceKind::General(first))
}

fn grade(text: &str) -> Option<ToleranceKind> {
    let digits = text.to_uppercase();
    digits
        .strip_prefix("IT")?
        .trim()
        .parse()
        .ok()
        .map(ToleranceKind::Grade)
}

fn fit(text: &str) -> Option<ToleranceKind> {
    let text = text.trim_start_matches(['Ø', 'ø', '⌀']).trim_start();
    let split = text.find(|c: char| c.is_ascii_alphabetic())?;
    let (size, class) = text.split_at(split);
    let class = Class::parse(class)?;
    let size_mm = match size.trim() {
        "" => None,
        size => Some(size.parse().ok()?),
    };
    Some(ToleranceKind::Fit { size_mm, class })
}

fn profile(text: &str) -> Option<ToleranceKind> {
    let lower = text.to_lowercase();
    length_mm(lower.strip_prefix("profile")?).map(ToleranceKind::Profile)
}

fn size(text: &str) -> Option<ToleranceKind> {
    if let Some((one, other)) = text.split_once('/').filter(|(one, _)| *one != "+") {
        // A unit behind the second number is meant for both.
        let unit: String = other
            .chars()
            .skip_while(|c| "+-0123456789. ".contains(*c))
            .collect();
        let lone = |part: &str| part.trim().parse::<f64>().is_ok();
        let one_mm = if lone(one) {
            length_mm(&format!("{one}{unit}"))?
        } else {
            length_mm(one)?
        };
        let other_mm = length_mm(other)?;
        return Some(ToleranceKind::Size(Limits {
            lower_mm: one_mm.min(other_mm),
            upper_mm: one_mm.max(other_mm),
        }));
    }
    let text = text.trim_start_matches("+/-").trim_start_matches('±');
    let half_mm = length_mm(text).filter(|_| !text.trim_start().starts_with(['+', '-']))?;
    Some(ToleranceKind::Size(Limits {
        lower_mm: -half_mm,
        upper_mm: half_mm,
    }))
}

/// Reads a signed length with its unit, in mm.
fn length_mm(text: &str) -> Option<f64> {
    let text = text.trim();
    let split = text
        .find(|c: char| !"+-0123456789.".contains(c))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let value: f64 = number.parse().ok()?;
    let mm = match unit.trim() {
        "" | "mm" => value,
        "µm" | "um" => value / UM_PER_MM,
        "in" | "inch" | "\"" => value * MM_PER_INCH,
        _ => return None,
    };
    mm.is_finite().then_some(mm)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limits(text: &str, size_mm: f64) -> (f64, f64, Scope) {
        let (limits, scope) = Tolerance::parse(text).expect(text).limits(size_mm).expect(text);
        (limits.lower_mm, limits.upper_mm, scope)
    }

    #[test]
    fn every_way_of_writing_ten_micrometres() {
        for text in [
            "±0.01",
            "0.01",
            "+/-0.01",
            "± 0.01 mm",
            "±10 µm",
            "10um",
            "+0.01/-0.01",
            "-0.01/+0.01",
            "0,01",
        ] {
            assert_eq!(limits(text, 25.0), (-0.01, 0.01, Scope::OnSize), "{text}");
        }
        assert_eq!(limits("profile 0.02", 25.0), (-0.01, 0.01, Scope::PerSide));
        assert_eq!(limits("±0.001 in", 25.0), (-0.0254, 0.0254, Scope::OnSize));
        assert_eq!(limits("+21/0 µm", 25.0), (0.0, 0.021, Scope::OnSize));
    }

    /// ISO 286-2 and ISO 2768-1, as in the tables' own tests.
    #[test]
    fn grades_fits_and_classes() {
        assert_eq!(limits("25H7", 3.0), (0.0, 0.021, Scope::OnSize));
        assert_eq!(limits("Ø25 H7", 3.0), (0.0, 0.021, Scope::OnSize));
        assert_eq!(limits("H7", 100.0), (0.0, 0.035, Scope::OnSize));
        assert_eq!(limits("g6", 25.0), (-0.020, -0.007, Scope::OnSize));
        assert_eq!(limits("IT6", 25.0), (-0.0065, 0.0065, Scope::OnSize));
        assert_eq!(limits("it 6", 25.0), (-0.0065, 0.0065, Scope::OnSize));
        for text in ["ISO 2768-m", "iso2768m", "2768-mK", "ISO 2768-1-m"] {
            assert_eq!(limits(text, 25.0), (-0.2, 0.2, Scope::OnSize), "{text}");
        }
        assert_eq!(
            Tolerance::parse("H7").expect("a fit").feature(),
            Some(Feature::Hole)
        );
        assert_eq!(
            Tolerance::parse("g6").expect("a fit").feature(),
            Some(Feature::Shaft)
        );
        assert_eq!(Tolerance::parse("IT6").expect("a grade").feature(), None);
    }

    /// 25H7 is 0/+21 µm (ISO 286-2): 5.25 µm a wall to mid-limit; a 25g6 shaft is −20/−7: 6.75 µm a wall.
    #[test]
    fn mid_limit_is_aimed_at() {
        let aim = |text: &str, feature| {
            let (limits, _) = Tolerance::parse(text).expect(text).limits(25.0).expect(text);
            limits.aim_mm(feature)
        };
        assert!((aim("25H7", Feature::Hole) - 0.005_25).abs() < 1e-15);
        assert!((aim("25g6", Feature::Shaft) - 0.006_75).abs() < 1e-15);
        assert_eq!(aim("±0.01", Feature::Hole), 0.0);
    }

    #[test]
    fn what_is_no_tolerance_is_refused() {
        let texts = [
            "",
            "±",
            "0",
            "-0.01",
            "0.02/0.02",
            "IT0",
            "IT19",
            "25X7",
            "9999H7",
            "tight",
            "0.1 parsec",
            "profile 0",
        ];
        for text in texts {
            assert!(Tolerance::parse(text).is_err(), "{text}");
        }
        let refusal = |text: &str| match Tolerance::parse(text) {
            Ok(_) => String::new(),
            Err(error) => error.to_string(),
        };
        for (text, why) in [
            ("0.02/0.02", "upper limit"),
            ("profile 0", "a width above 0"),
            ("profile -1", "a width above 0"),
            // 0.1 µm apart at least, and 100 mm from the size at most.
            ("±0.000049", "0.1 µm apart"),
            ("+0.00009/0", "0.1 µm apart"),
            ("+100.1/0", "0.1 µm apart"),
            ("+0/-100.1", "0.1 µm apart"),
            ("+120/+110", "0.1 µm apart"),
            ("profile 0.00009", "0.1 µm apart"),
            ("profile 200.1", "0.1 µm apart"),
        ] {
            assert!(refusal(text).contains(why), "{text}: {}", refusal(text));
        }
        for text in [
            "±0.000051",
            "+0.0002/0",
            "±100",
            "+100/+99",
            "profile 0.00011",
            "profile 200",
        ] {
            assert_eq!(refusal(text), "", "{text}");
        }
        let class_v = Tolerance::parse("ISO 2768-v").expect("a class");
        assert!(class_v.limits(2.0).is_err());
    }
}
