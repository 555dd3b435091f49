//! A summary to be read at a terminal. Colour is laid on with escape codes, which the caller's stream takes off
//! again where they are not wanted.

mod book;
mod quote;
mod sections;
mod table;

use std::fmt::Write as _;
use std::io;

use anstyle::{AnsiColor, Style};

use crate::calibrate::Calibrated;
use crate::check::{self, Check};
use crate::finding::Severity;
use crate::gauge::{Drift, Gauging, RoomDrift};
use crate::message::number::plain_lines;
use crate::message::{Lengths, Message};
use crate::plan::{Comparison, Inspection, InspectionSheet, Plan};
use crate::report::json::SCHEMAS;
use crate::report::view::{self, Coverage};
use crate::report::words;

pub use book::{doubts, flaws, numbers};
pub use quote::quote;
use sections::sections;

const HEADING: Style = Style::new().bold();
const ERROR: Style = AnsiColor::Red.on_default().bold();
const WARNING: Style = AnsiColor::Yellow.on_default().bold();
const NOTE: Style = AnsiColor::Cyan.on_default().bold();
const QUIET: Style = Style::new().dimmed();

/// Writes an inspected drawing, to be read at a terminal.
pub fn inspection(inspection: &Inspection, coverage: Coverage, lengths: Lengths) -> String {
    sections(&view::inspected(inspection, coverage), lengths)
}

/// Writes a plan, to be read at a terminal.
pub fn plan(plan: &Plan, coverage: Coverage, lengths: Lengths) -> String {
    sections(&view::planned(plan, coverage), lengths)
}

/// Writes a comparison, to be read at a terminal.
pub fn comparison(comparison: &Comparison, lengths: Lengths) -> String {
    sections(&view::compared(comparison), lengths)
}

/// Writes every figure of a plan with its formula, terms, source and basis.
pub fn figures(plan: &Plan) -> String {
    sections(&view::figures_traced(plan), Lengths::Mm)
}

/// Writes what a log has taught, with the error before and after.
pub fn calibration(learned: &Calibrated) -> String {
    sections(&view::learned(learned, None), Lengths::Mm)
}

/// Writes what a gauged test piece says.
pub fn gauging(gauging: &Gauging) -> String {
    sections(&view::gauged(gauging), Lengths::Mm)
}

/// Writes how finished walls drift off their targets, and what to do about the offset.
pub fn drift(drift: &Drift) -> String {
    sections(&view::drifting(drift, |_| None), Lengths::Mm)
}

/// Writes what of a finished part can be measured.
pub fn inspection_sheet(plan: &Plan, sheet: &InspectionSheet, lengths: Lengths) -> String {
    sections(&view::inspection_sheet(plan, sheet, None), lengths)
}

/// Writes how the part of a plan moves in its room.
pub fn part_in_room(plan: &Plan, drift: &RoomDrift, lengths: Lengths) -> String {
    sections(&view::part_in_room(plan, drift), lengths)
}

/// Writes every check with what it looks for, one a paragraph.
pub fn checks() -> String {
    let mut text = String::new();
    for check in check::ALL {
        let _ = writeln!(
            text,
            "{HEADING}{}{HEADING:#} ({})",
            check.name,
            words::severity(check.severity)
        );
        let _ = writeln!(text, "  {}", check.looks_for);
    }
    text
}

/// Writes every output that has a schema, with what writes it.
pub fn schemas() -> String {
    let mut text = String::new();
    for schema in SCHEMAS {
        let _ = writeln!(text, "{HEADING}{:<10}{HEADING:#}{}", schema.name, schema.of);
    }
    text
}

/// What one check looks for, why it matters and what to do.
pub fn check(check: &Check) -> String {
    let (word, style) = (words::severity(check.severity), style(check.severity));
    let options = match check.options {
        "" => String::new(),
        options => format!("\n{HEADING}what to type{HEADING:#}\n{options}\n"),
    };
    format!(
        "{style}{word}{style:#} {HEADING}{}{HEADING:#}\n\n{}\n\n{HEADING}why it matters{HEADING:#}\n{}\n\n\
         {HEADING}what to do{HEADING:#}\n{}\n{options}",
        check.name, check.looks_for, check.why, check.what_to_do
    )
}

/// Prints why a command could not run.
pub fn print_failure(
    out: &mut impl io::Write,
    message: &Message,
    help: Option<&str>,
    lengths: Lengths,
) -> io::Result<()> {
    let message = plain_lines(&message.in_unit(lengths));
    writeln!(out, "{ERROR}error{ERROR:#}: {message}")?;
    if let Some(help) = help {
        writeln!(out, "  {HEADING}help{HEADING:#}: {}", plain_lines(help))?;
    }
    Ok(())
}

fn style(severity: Severity) -> Style {
    match severity {
        Severity::Error => ERROR,
        Severity::Warning => WARNING,
        Severity::Note => NOTE,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Finding;
    use crate::report::sample;

    fn uncoloured(text: &str) -> String {
        anstream::adapter::strip_str(text).to_string()
    }

    #[test]
    fn a_finding_says_where_how_bad_and_what_to_do() {
        let mut plate = sample::plate();
        plate.findings = vec![sample::finding()];
        let text = uncoloured(&inspection(&plate, Coverage::Usual, Lengths::Mm));
        let expected = "(1) error  open-contour, 1 place\n    \
            the contour does not close: its ends are 0.3 mm apart; at x 40 y 20 mm (contour 1, layer CUT)\n    \
            do: close the gap in the drawing\n    option: --join 0.3000\n    \
            drawing: line 812, entity 2F\n\n  1 error\n";
        assert!(text.ends_with(expected), "{text}");
    }

    #[test]
    fn findings_of_one_name_are_one_and_all_are_told_in_full() {
        let mut plate = sample::plate();
        let other = Finding {
            name: "self-crossing",
            ..sample::finding()
        };
        plate.findings = vec![sample::finding(); 7];
        plate.findings.push(other);
        let told = |coverage| uncoloured(&inspection(&plate, coverage, Lengths::Mm));
        let usual = told(Coverage::Usual);
        let others = ["x 40 y 20 mm"; 5].join("; ");
        for expected in [
            "(1) error  open-contour, 7 places".to_owned(),
            format!("others: {others} and 1 more\n"),
            "(2) error  self-crossing, 1 place".to_owned(),
            "2 errors".to_owned(),
        ] {
            assert!(usual.contains(&expected), "{expected}: {usual}");
        }
        let full = told(Coverage::Full);
        assert_eq!(full.matches("the contour does not close").count(), 8, "{full}");
        assert!(!full.contains("others:"), "{full}");
    }

    #[test]
    fn names_in_an_error_steer_no_terminal() {
        let mut told = Vec::new();
        let (message, help) = (
            "\u{1b}]0;x\u{7}.dxf: no\n  more",
            Some("did you mean `\u{202e}fxd`?"),
        );
        print_failure(&mut told, &message.into(), help, Lengths::Mm).expect("memory");
        let told = String::from_utf8(told).expect("text");
        assert!(
            !told.contains(['\u{7}', '\u{202e}']) && !told.contains("\u{1b}]"),
            "{told:?}"
        );
        assert!(
            told.contains("no\n  more") && told.contains("`\\u{202e}fxd`"),
            "{told:?}"
        );
    }

    #[test]
    fn a_clean_drawing_is_never_called_fit() {
        let mut plate = sample::plate();
        plate.findings.clear();
        let text = uncoloured(&inspection(&plate, Coverage::Usual, Lengths::Mm));
        assert!(text.contains("found a flaw"), "{text}");
        assert!(!text.contains("fit to cut"), "{text}");
        let (drawing, _) = text.split_once("none of ").expect("the closing line");
        insta::assert_snapshot!(drawing);
    }

    #[test]
    fn a_layer_name_cannot_steer_the_terminal() {
        let mut plate = sample::plate();
        plate.drawing.layers[0].name = "\u{1b}[31mred\n".into();
        let text = inspection(&plate, Coverage::Usual, Lengths::Mm);
        assert!(!text.contains("\u{1b}[31m"), "{text}");
    }
}
