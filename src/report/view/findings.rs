//! What the checks found.

use super::entries::{AlikeFindings, FindingEntry};
use super::frames::{Section, SectionPart, Tone};
use crate::check::{self, FindingGroup, Stage};
use crate::finding::{Finding, Severity};
use crate::message::number::counted;
use crate::message::{Message, message};
use crate::plan::Inspection;
use crate::report::words;
use crate::report::words::place;

/// Most places of alike findings that are given beside the worst.
const PLACED: usize = 5;
/// Most remarks that are written out.
const REMARKS: usize = 5;

/// How much is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Coverage {
    /// The answer alone.
    Head,
    /// What is needed at the machine, and what has to be looked at.
    #[default]
    Usual,
    /// Everything.
    Full,
}

/// Returns what the checks found, and how many they are: of alike findings the worst, in full each.
pub(super) fn section(inspection: &Inspection, stage: Stage, coverage: Coverage) -> Section {
    let groups = check::group_findings(&inspection.findings);
    let tone = if groups.is_empty() {
        Tone::Quiet
    } else {
        Tone::Plain
    };
    let closing = closing(&groups, stage);
    let alike = groups
        .iter()
        .map(|group| alike(group, &inspection.findings, coverage));
    Section::new("findings", "findings")
        .with(SectionPart::Findings(alike.collect()))
        .words(tone, closing)
}

fn alike(group: &FindingGroup, findings: &[Finding], coverage: Coverage) -> AlikeFindings {
    let name = group.names[0];
    let worst = group.placed[0];
    // A remark has no place that matters: what it says does.
    let are_remarks = check::is_remark(&findings[worst]);
    let shown = if check::is_question(name) {
        &[]
    } else if coverage == Coverage::Full {
        group.findings.as_slice()
    } else if are_remarks {
        &group.placed[..group.placed.len().min(REMARKS)]
    } else {
        &group.placed[..1]
    };
    AlikeFindings {
        number: group.number,
        severity: group.severity,
        names: group.names.join(", "),
        title: group.title.clone(),
        explained: explained(&group.names),
        places: places(group, are_remarks),
        entries: shown.iter().map(|i| entry(*i, &findings[*i])).collect(),
        others: others(group, findings, shown.len()),
    }
}

fn explained(names: &[&'static str]) -> Vec<[&'static str; 2]> {
    let checks = names.iter().filter_map(|name| check::find(name));
    checks.map(|check| [check.why, check.what_to_do]).collect()
}

fn places(group: &FindingGroup, are_remarks: bool) -> Message {
    if check::is_question(group.names[0]) {
        return message!(
            "{}: settle before cutting, no path and no price until then",
            words::places(group, "question")
        );
    }
    let noun = if are_remarks { "remark" } else { "place" };
    words::places(group, noun).into()
}

/// Returns where the places are that are not written out.
fn others(group: &FindingGroup, findings: &[Finding], shown: usize) -> Message {
    if check::is_question(group.names[0]) || shown >= group.placed.len() {
        return Message::default();
    }
    let others = group.placed[shown..].iter().filter_map(|i| findings[*i].at);
    let placed: Vec<Message> = others.take(PLACED).map(|at| place(at, 2)).collect();
    let more = match group.placed.len() - shown - placed.len() {
        0 => Message::default(),
        more => message!(" and {} more", more),
    };
    message!("{}{}", Message::joined(placed, "; "), more)
}

fn entry(index: usize, finding: &Finding) -> FindingEntry {
    let at = finding.at.map(|at| message!("; at {}", place(at, 3)));
    let on = [
        finding.contour.map(|contour| message!("contour {}", contour)),
        finding.layer.as_ref().map(|layer| message!("layer {}", layer)),
    ];
    let on = Message::joined(on.into_iter().flatten(), ", ");
    let on = (!on.is_empty()).then(|| message!(" ({})", on));
    let in_file = [
        finding.line.map(|line| message!("line {}", line)),
        (!finding.entities.is_empty()).then(|| entities(&finding.entities)),
    ];
    FindingEntry {
        index,
        says: message!("{}{}{}", finding.message, at, on),
        remedy: finding.remedy.clone(),
        option: finding.option.clone().unwrap_or_default().into(),
        mends: finding.mends.clone(),
        in_file: Message::joined(in_file.into_iter().flatten(), ", "),
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

/// Returns how many groups there are of each severity.
fn closing(groups: &[FindingGroup], stage: Stage) -> Message {
    let count = |severity| groups.iter().filter(|group| group.severity == severity).count();
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
