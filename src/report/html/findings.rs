use maud::{Markup, html};

use crate::check;
use crate::finding::{Finding, Severity};
use crate::message::number::{counted, plain, short};
use crate::plan::Plan;
use crate::report::{same_name, words};

/// Most findings of one name that are written out.
const SHOWN: usize = 3;
/// Most findings of one name whose places are given: as many as are marked on the sheet.
const PLACED: usize = 15;

/// What the checks found, numbered as on the sheet.
pub(super) fn section(plan: &Plan) -> Markup {
    let findings = &plan.inspection.findings;
    html! {
        section aria-labelledby="job-findings" {
            h2 id="job-findings" { "What the checks found" }
            @if findings.is_empty() {
                p { "None of these " (counted(check::ALL.len(), "check")) " found a flaw:" }
                p.job-quiet {
                    @for (i, check) in check::ALL.iter().enumerate() { @if i > 0 { ", " } (check.name) }
                }
            } @else {
                @let runs = same_name(findings).scan(1, |next, run| {
                    let first = *next;
                    *next += run.len();
                    Some((first, run))
                });
                @for (first, run) in runs {
                    ol.job-findings start=(first) { @for finding in run.iter().take(SHOWN) { (row(finding)) } }
                    @if run.len() > SHOWN { (others(first, run)) }
                }
            }
        }
    }
}

fn row(finding: &Finding) -> Markup {
    let class = match finding.severity {
        Severity::Error => "job-error",
        Severity::Warning => "job-warning",
        Severity::Note => "job-note",
    };
    html! {
        li class=(class) {
            p { strong { (words::severity(finding.severity)) " " code { (finding.name) } ": " } (plain(&finding.message)) }
            p {
                span.job-quiet { (place(finding)) }
                // The answers to a question are options of the command line: no words for a sheet.
                @if check::is_question(finding.name) {
                    @if !place(finding).is_empty() { ": " }
                    "settle this before cutting: no path and no price until then"
                } @else if !finding.remedy.is_empty() {
                    @if !place(finding).is_empty() { ": " }
                    (plain(&finding.remedy))
                }
            }
        }
    }
}

/// Where the others of the same name are.
fn others(first: usize, run: &[Finding]) -> Markup {
    let placed: Vec<String> = (first..)
        .zip(run)
        .skip(SHOWN)
        .take(PLACED - SHOWN)
        .map(|(number, finding)| match finding.at {
            Some(at) => format!("{number} at x {} y {}", short(at.x, 2), short(at.y, 2)),
            None => number.to_string(),
        })
        .collect();
    html! {
        p.job-quiet {
            code { (run[0].name) } " too: " (placed.join("; "))
            @if run.len() > PLACED { "; … and " (run.len() - PLACED) " more, in the JSON" }
            "."
        }
    }
}

fn place(finding: &Finding) -> String {
    let mut parts = Vec::new();
    if let Some(at) = finding.at {
        parts.push(format!("x {} y {} mm", short(at.x, 4), short(at.y, 4)));
    }
    if let Some(contour) = finding.contour {
        parts.push(format!("contour {contour}"));
    }
    if let Some(layer) = &finding.layer {
        parts.push(format!("layer {}", plain(layer)));
    }
    if let Some(line) = finding.line {
        parts.push(format!("line {line} of the file"));
    }
    parts.join(", ")
}
