use std::fmt::Write as _;

use super::{HEADING, QUIET, style};
use crate::check::{self, Stage};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::number::{counted, plain};
use crate::message::{Lengths, QuantityValue, UnitSymbol, mm};
use crate::report::{same_name, words};

/// Most findings of one name that are written out.
const SHOWN: usize = 4;

/// Writes the findings of `file`, numbered as they are marked on the sheet, and the closing line: how many there are,
/// or which checks found nothing.
pub(super) fn findings(file: &str, findings: &[Finding], stage: Stage, lengths: Lengths) -> String {
    let mut text = String::new();
    let mut first = 1;
    for alike in same_name(findings) {
        if check::is_question(alike[0].name) {
            write_questions(&mut text, alike);
            first += alike.len();
            continue;
        }
        for (i, finding) in alike.iter().take(SHOWN).enumerate() {
            write_finding(&mut text, file, first + i, finding, lengths);
        }
        if alike.len() > SHOWN {
            let more = alike.len() - SHOWN;
            let _ = writeln!(
                text,
                "{QUIET}… and {more} more {}; `--json` lists all{QUIET:#}\n",
                alike[0].name
            );
        }
        first += alike.len();
    }
    text.push_str(&closing(findings, stage));
    text
}

/// Writes findings that report questions, which are told in full above.
fn write_questions(text: &mut String, alike: &[Finding]) {
    let (word, style) = (words::severity(alike[0].severity), style(alike[0].severity));
    let count = counted(alike.len(), "question");
    let _ = writeln!(
        text,
        "{style}{word}[{}]{style:#}{HEADING}: {count}, above{HEADING:#}\n",
        alike[0].name
    );
}

fn write_finding(text: &mut String, file: &str, number: usize, finding: &Finding, lengths: Lengths) {
    let (word, style) = (words::severity(finding.severity), style(finding.severity));
    let _ = writeln!(
        text,
        "{style}{word}[{}]{style:#}{HEADING}: {}{HEADING:#}",
        finding.name,
        plain(&finding.message.in_unit(lengths))
    );
    let _ = writeln!(
        text,
        "  {QUIET}-->{QUIET:#} {}",
        place(file, number, finding, lengths)
    );
    if let Some(held) = measured(finding, lengths) {
        let _ = writeln!(text, "  {QUIET}={QUIET:#} {held}");
    }
    if !finding.remedy.is_empty() {
        let _ = writeln!(
            text,
            "  {QUIET}={QUIET:#} help: {}",
            plain(&finding.remedy.in_unit(lengths))
        );
    }
    text.push('\n');
}

fn place(file: &str, number: usize, finding: &Finding, lengths: Lengths) -> String {
    let mut place = plain(file);
    if let Some(line) = finding.line {
        let _ = write!(place, ":{line}");
    }
    let mut parts = Vec::new();
    if let Some(layer) = &finding.layer {
        parts.push(format!("layer {}", plain(layer)));
    }
    if let Some(contour) = finding.contour {
        parts.push(format!("contour {contour}"));
    }
    if !finding.entities.is_empty() {
        parts.push(entities(&finding.entities));
    }
    if let Some(at) = finding.at {
        parts.push(format!(
            "x {} y {} (no. {number})",
            mm(at.x).at_most(4).bare().written(lengths),
            mm(at.y).at_most(4).written(lengths)
        ));
    }
    if !parts.is_empty() {
        let _ = write!(place, "  {}", parts.join(", "));
    }
    place
}

fn entities(handles: &[String]) -> String {
    const SHOWN: usize = 4;
    let mut text = counted_word(handles.len(), "entity", "entities");
    for handle in handles.iter().take(SHOWN) {
        let _ = write!(text, " {}", plain(handle));
    }
    if handles.len() > SHOWN {
        let _ = write!(text, " and {} more", handles.len() - SHOWN);
    }
    text
}

fn counted_word(count: usize, one: &str, many: &str) -> String {
    if count == 1 { one.into() } else { many.into() }
}

fn measured(finding: &Finding, lengths: Lengths) -> Option<String> {
    let quantity = |held: Quantity| {
        let unit = UnitSymbol::named(held.unit);
        QuantityValue::new(held.value, unit).four(4).written(lengths)
    };
    match (finding.measured, finding.limit) {
        (Some(measured), Some(limit)) => Some(format!(
            "measured {}, limit {}",
            quantity(measured),
            quantity(limit)
        )),
        (Some(measured), None) => Some(format!("measured {}", quantity(measured))),
        (None, Some(limit)) => Some(format!("limit {}", quantity(limit))),
        (None, None) => None,
    }
}

fn closing(findings: &[Finding], stage: Stage) -> String {
    let count = |severity| {
        findings
            .iter()
            .filter(|finding| finding.severity == severity)
            .count()
    };
    let counts: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note]
        .into_iter()
        .filter(|&severity| count(severity) > 0)
        .map(|of| counted(count(of), words::severity(of)))
        .collect();
    if !counts.is_empty() {
        return format!(
            "{}; `kerfwright explain NAME` says more of each\n",
            counts.join(", ")
        );
    }
    let ran: Vec<&str> = check::ALL
        .iter()
        .filter(|check| check.stage <= stage)
        .map(|check| check.name)
        .collect();
    format!(
        "none of these {} found a flaw: {}\n",
        counted(ran.len(), "check"),
        ran.join(", ")
    )
}
