//! What the checks found.

use super::entries::{FindingEntry, FindingGroup};
use super::frames::{Section, SectionPart, Tone};
use crate::check::{self, Stage};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::number::counted;
use crate::message::{Message, QuantityValue, UnitSymbol, message};
use crate::plan::Inspection;
use crate::report::words::place;
use crate::report::{same_name, words};

/// Most findings of one name that are written out.
const WRITTEN: usize = 3;
/// Most findings of one name whose places are given: as many as are marked on the sheet.
const PLACED: usize = 15;

/// Returns what the checks found, and how many they are.
pub(super) fn section(inspection: &Inspection, stage: Stage) -> Section {
    let runs = same_name(&inspection.findings).scan(1, |next, run| {
        let first = *next;
        *next += run.len();
        Some(group(first, run))
    });
    let tone = if inspection.findings.is_empty() {
        Tone::Quiet
    } else {
        Tone::Plain
    };
    Section::new("findings", "findings")
        .with(SectionPart::Findings(runs.collect()))
        .words(tone, closing(&inspection.findings, stage))
}

fn group(first: usize, run: &[Finding]) -> FindingGroup {
    let (name, severity) = (run[0].name, run[0].severity);
    // Questions are told in full elsewhere.
    if check::is_question(name) {
        let says = message!(
            "{}: settle before cutting, no path and no price until then",
            counted(run.len(), "question")
        );
        return FindingGroup {
            name,
            severity,
            entries: vec![FindingEntry {
                says,
                measured: Message::default(),
                remedy: Message::default(),
                ..entry(first, &run[0])
            }],
            rest: Message::default(),
        };
    }
    let written = (first..).zip(run).take(WRITTEN);
    FindingGroup {
        name,
        severity,
        entries: written.map(|(number, finding)| entry(number, finding)).collect(),
        rest: others(first, run),
    }
}

/// Where the others of the same name are.
fn others(first: usize, run: &[Finding]) -> Message {
    if run.len() <= WRITTEN {
        return Message::default();
    }
    let others = (first..).zip(run).skip(WRITTEN).take(PLACED - WRITTEN);
    let placed = others.map(|(number, finding)| {
        let at = finding.at.map(|at| message!(" at {}", place(at, 2)));
        message!("{}{}", number, at)
    });
    let rest = match run.len().saturating_sub(PLACED) {
        0 => Message::default(),
        more => message!("; … and {} more, in the JSON", more),
    };
    message!(
        "{} more: {}{}",
        run.len() - WRITTEN,
        Message::joined(placed, "; "),
        rest
    )
}

fn entry(number: usize, finding: &Finding) -> FindingEntry {
    let on_part = [
        finding.at.map(|at| place(at, 4)),
        finding.contour.map(|contour| message!("contour {}", contour)),
        finding.layer.as_ref().map(|layer| message!("layer {}", layer)),
    ];
    let in_file = [
        finding.line.map(|line| message!("line {}", line)),
        (!finding.entities.is_empty()).then(|| entities(&finding.entities)),
    ];
    FindingEntry {
        number,
        says: finding.message.clone(),
        on_part: Message::joined(on_part.into_iter().flatten(), ", "),
        in_file: Message::joined(in_file.into_iter().flatten(), ", "),
        measured: measured(finding),
        remedy: finding.remedy.clone(),
    }
}

fn entities(handles: &[String]) -> Message {
    const NAMED: usize = 4;
    let word = if handles.len() == 1 { "entity" } else { "entities" };
    let named: Vec<&str> = handles.iter().take(NAMED).map(String::as_str).collect();
    let rest = match handles.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    message!("{} {}{}", word, named.join(" "), rest)
}

fn measured(finding: &Finding) -> Message {
    let value =
        |quantity: Quantity| QuantityValue::new(quantity.value, UnitSymbol::named(quantity.unit)).four(4);
    match (finding.measured, finding.limit) {
        (Some(measured), Some(limit)) => message!("measured {}, limit {}", value(measured), value(limit)),
        (Some(measured), None) => message!("measured {}", value(measured)),
        (None, Some(limit)) => message!("limit {}", value(limit)),
        (None, None) => Message::default(),
    }
}

fn closing(findings: &[Finding], stage: Stage) -> Message {
    let count = |severity| {
        findings
            .iter()
            .filter(|finding| finding.severity == severity)
            .count()
    };
    let counts: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note]
        .into_iter()
        .map(|severity| (severity, count(severity)))
        .filter(|(_, count)| *count > 0)
        .map(|(severity, count)| counted(count, words::severity(severity)))
        .collect();
    if !counts.is_empty() {
        return counts.join(", ").into();
    }
    let ran = check::ALL.iter().filter(|check| check.stage <= stage).count();
    message!(
        "none of {} found a flaw: that only means that none of these found one",
        counted(ran, "check")
    )
}
