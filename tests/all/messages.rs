//! What is said in words keeps its quantities beside them: no length stands in the words themselves, and what is said in inches is what
//! is said in millimetres. 1 in = 25.4 mm exactly, 1 µm = 39.37 µin: NIST Special Publication 811 (2008), appendix B.

use kerfwright::check::question_words::in_words;
use kerfwright::geometry::Point;
use kerfwright::id::{ContourId, PassNo};
use kerfwright::job::{Scope, Tolerance};
use kerfwright::message::{Lengths, Message, QuantityValue, UnitSymbol};
use kerfwright::plan::{Inspection, Shortfall};
use kerfwright::shop::WireError;
use kerfwright::toolpath::RefusalReason;
use kerfwright::{drawing, pass, plan};

/// The metric units of length as they are printed, the longest first.
const METRIC: [&str; 5] = ["mm²/min", "mm/min", "mm²", "mm", "µm"];

/// Checks everything that an inspection says.
pub(crate) fn assert_keeps_quantities(inspection: &Inspection) {
    let Inspection {
        drawing,
        contours,
        questions,
        ..
    } = inspection;
    let layers = drawing.layers.iter().map(|layer| layer.name.as_str());
    let names: Vec<&str> = layers.filter(|name| name.contains("mm")).collect();
    let asked = questions.list.iter();
    let asked: Vec<_> = asked
        .map(|question| in_words(question, drawing, contours, questions))
        .collect();
    let readings = asked.iter().flat_map(|words| &words.readings);
    let findings = inspection.findings.iter();
    let said = findings
        .flat_map(|finding| [&finding.message, &finding.remedy])
        .chain(asked.iter().map(|words| &words.asks))
        .chain(readings.flat_map(|reading| [&reading.says, &reading.means]))
        .chain(&inspection.assumptions);
    for message in said {
        assert_said_alike(message, &names);
    }
}

/// Checks that no length stands in the words of a message, and that its inches are its millimetres. What is in backticks is typed
/// back, and what the drawing names or holds in quotes stays as it is.
pub(crate) fn assert_said_alike(message: &Message, names: &[&str]) {
    let own = |text: &str| {
        let outside = text.split('`').step_by(2).collect::<Vec<_>>().join("`");
        let outside = outside.split('"').step_by(2).collect::<Vec<_>>().join("text");
        names
            .iter()
            .fold(outside, |text, name| text.replace(name, "name"))
    };
    let words = own(&message.words().join("…"));
    let untyped = lengths_in(&words) + places_in(&words);
    assert_eq!(untyped, 0, "a length in the words of: {message}");
    let inch = message.in_unit(Lengths::Inch);
    assert_eq!(lengths_in(&own(&inch)), 0, "a metric length in: {inch}");
    for quantity in message.quantities() {
        assert_same(quantity, message);
    }
}

/// Counts the metric units that stand behind something; `read in mm` names the unit of a drawing.
fn lengths_in(text: &str) -> usize {
    let of_length = |pair: &&[&str]| pair[0] != "in" && METRIC.contains(&pair[1]);
    split(text).windows(2).filter(of_length).count()
}

/// Counts the coordinates behind an `x` or `y`, and those in brackets.
fn places_in(text: &str) -> usize {
    let is_number = |word: &str| word.contains('.') && word.parse::<f64>().is_ok();
    let of_place =
        |pair: &&[&str]| is_number(pair[1]) && (is_number(pair[0]) || ["x", "y"].contains(&pair[0]));
    split(text).windows(2).filter(of_place).count()
}

fn split(text: &str) -> Vec<&str> {
    text.split(|c: char| c.is_whitespace() || "(),;:".contains(c))
        .filter(|word| !word.is_empty())
        .collect()
}

/// The numbers of a quantity as printed, each with half a unit of its last digit.
fn numbers(text: &str) -> Vec<(f64, f64)> {
    let written = text.split(|c: char| !(c.is_ascii_digit() || "+-.e".contains(c)));
    written
        .filter(|word| word.contains(|c: char| c.is_ascii_digit()))
        .filter_map(|word| {
            let (mantissa, power) = word.split_once('e').unwrap_or((word, "0"));
            let decimals = mantissa.split_once('.').map_or(0, |(_, part)| part.len());
            let step = 10_f64.powi(power.parse::<i32>().ok()? - i32::try_from(decimals).ok()?);
            Some((word.parse().ok()?, step / 2.0))
        })
        .collect()
}

fn assert_same(quantity: QuantityValue, message: &Message) {
    let per_inch = match quantity.unit() {
        UnitSymbol::Mm | UnitSymbol::MmPerMin => 25.4,
        UnitSymbol::Um => 25_400.0,
        UnitSymbol::UmOfRoughness => 0.025_4,
        UnitSymbol::Mm2 | UnitSymbol::Mm2PerMin => 645.16,
        UnitSymbol::Min | UnitSymbol::Same(_) => 1.0,
    };
    let (metric, inch) = (quantity.written(Lengths::Mm), quantity.written(Lengths::Inch));
    assert!(
        message.contains(&metric) && message.in_unit(Lengths::Inch).contains(&inch),
        "{message}"
    );
    let (metric_numbers, inch_numbers) = (numbers(&metric), numbers(&inch));
    assert!(!metric_numbers.is_empty() && metric_numbers.len() == inch_numbers.len());
    for ((in_mm, mm_step), (in_inch, inch_step)) in metric_numbers.into_iter().zip(inch_numbers) {
        let off = (in_inch * per_inch - in_mm).abs();
        let within = mm_step + inch_step * per_inch;
        assert!(
            off <= within * (1.0 + 1e-9),
            "{inch} is not {metric} in: {message}"
        );
    }
}

fn shortfalls() -> Vec<Shortfall> {
    let at = Point { x: 12.5, y: -3.25 };
    vec![
        Shortfall::TooThick {
            wire_mm: 0.1,
            thickest_mm: 80.0,
            thickness_mm: 300.0,
        },
        Shortfall::RadiusBelowOffset {
            radius_mm: 0.1,
            offset_mm: 0.1305,
        },
        Shortfall::RadiusTooLarge {
            radius_mm: 0.1,
            left_mm: 0.1305,
        },
        Shortfall::SlotTooNarrow {
            slot_mm: 0.2,
            needed_mm: 0.394,
        },
        Shortfall::Cusp { tolerance_um: 5.0 },
        Shortfall::SharpCorner {
            off_um: 53.8,
            tolerance_um: 5.0,
        },
        Shortfall::Finish {
            passes: 2,
            expected_um: 1.2,
            limit_um: 0.4,
        },
        Shortfall::Size {
            passes: 2,
            error_um: 8.1,
            scope: Scope::OnSize,
            half_um: 5.0,
            largest: None,
        },
        Shortfall::PathRefused {
            pass: PassNo::from_index(0),
            contour: ContourId::from_index(1),
            at,
            reason: RefusalReason::OffsetTooSmall { offset_mm: 0.000_05 },
        },
        Shortfall::PathOff {
            off_mm: 0.0538,
            at,
            tolerance_mm: 0.005,
        },
        Shortfall::NoPasses(pass::Error::TooThick {
            thickness_mm: 300.0,
            wire_mm: 0.1,
            thickest_mm: 80.0,
        }),
    ]
}

#[test]
fn shortfalls_keep_their_quantities() {
    for shortfall in shortfalls() {
        let message = shortfall.message();
        assert!(message.quantities().count() > 0, "{message}");
        assert_said_alike(&message, &[]);
        assert_eq!(shortfall.to_string(), *message);
    }
    let refused = plan::Error::Impossible {
        reasons: shortfalls(),
    };
    assert_said_alike(&refused.message(), &[]);
    assert_eq!(refused.to_string(), *refused.message());
}

#[test]
fn errors_keep_their_quantities() {
    let wire = WireError::Size {
        asked_mm: 0.4,
        known_mm: vec![0.1, 0.25],
    };
    let tolerance = Tolerance::parse("IT6").expect("a grade").limits(4000.0);
    let at = Point { x: 12.5, y: -3.25 };
    let errors: [plan::Error; 6] = [
        pass::Error::from(wire).into(),
        pass::Error::Aim {
            aim_mm: 5.0,
            limit_mm: 0.13,
        }
        .into(),
        tolerance.expect_err("no limits").into(),
        drawing::Error::TooFar {
            line: 7,
            entity: "LINE".to_owned(),
            reach_mm: 2.5e12,
        }
        .into(),
        plan::Error::Tangled { at },
        plan::Error::TooDeep {
            contour: ContourId::from_index(1),
            line: 7,
            at,
            limit: 100,
        },
    ];
    for error in errors {
        let message = error.message();
        assert!(message.quantities().count() > 0, "{message}");
        assert_said_alike(&message, &[]);
        assert_eq!(error.to_string(), *message);
    }
}

#[test]
fn a_length_in_words_is_seen() {
    for (text, lengths) in [
        ("a slot 0.25 mm wide", 1),
        ("(limit 12 µm)", 1),
        ("0.5 to 2 mm²/min; 3 mm", 2),
        ("read in mm, 3 mmol, `4 mm`", 0),
    ] {
        assert_eq!(lengths_in(text), lengths, "{text}");
    }
    assert_eq!(
        places_in("from x 1.5 y -2.0 to (3.000, 4.25) over 0.5 mm, x … y …"),
        3
    );
    let message = Message::from("a slot 0.25 mm wide");
    assert!(std::panic::catch_unwind(|| assert_said_alike(&message, &[])).is_err());
    assert_eq!(numbers("-0.50 (to 1e-9)"), [(-0.5, 0.005), (1e-9, 0.5e-9)]);
}
