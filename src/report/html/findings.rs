use maud::{Markup, html};

use crate::check;
use crate::finding::{Finding, Severity};
use crate::plan::Plan;
use crate::report::number::{counted, plain, short};
use crate::report::{same_name, words};

/// Most findings of one name that are written out.
const SHOWN: usize = 8;

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
                    @if run.len() > SHOWN {
                        p.job-quiet { "… and " (run.len() - SHOWN) " more " code { (run[0].name) } "; the JSON lists all." }
                    }
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
            p.job-quiet { (place(finding)) }
            @if !finding.remedy.is_empty() { p { (plain(&finding.remedy)) } }
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
