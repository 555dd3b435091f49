use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::STYLE;
use super::table::{heads, rounded, table};
use crate::calibrate::{Calibrated, JobOutcome, RateFit};
use crate::message::number::{fixed, plain};
use crate::report::{svg, words};

/// Estimate against actual of every job of a log, worst first, as a page that needs nothing else.
pub fn calibration(learned: &Calibrated, log: &str) -> String {
    let log = plain(log);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Finished jobs: " (log) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header { h1 { "Finished jobs: " (log) } }
                main {
                    (fits(learned))
                    (jobs(learned))
                    (left_out(learned))
                }
            }
        }
    };
    let mut text = page.into_string();
    text.push('\n');
    text
}

fn fits(learned: &Calibrated) -> Markup {
    let fit = |fit: &RateFit| {
        html! {
            tr {
                th scope="row" { (words::fitted_work(fit)) }
                td.job-number { (fit.jobs) }
                td { (words::minutes_hold(&fit.minutes_hold)) }
                td.job-number { (fixed(fit.rate_factor.expected, 3)) " ± " (fixed(fit.rate_told_within_percent, 0)) " %" }
                td.job-number { (rounded(fit.fixed_min, 0, "min")) @if !fit.fixed_is_fitted { ", the book's" } }
                td.job-number { (fixed(fit.error_before_percent, 1)) " %" }
                td.job-number { (fixed(fit.error_after_percent, 1)) " %" }
            }
        }
    };
    let names = [
        "Work",
        "Jobs",
        "Minutes hold",
        "Area rates ×",
        "Set-up",
        "Error before",
        "Error after",
    ];
    let rows = html! { @for found in &learned.fits { (fit(found)) } };
    html! {
        section aria-labelledby="job-learned" {
            h2 id="job-learned" { "What was learned" }
            p.job-quiet {
                "Errors are medians: before, of the book; after, of jobs that the fit had not seen. ± holds the rate with 95 %."
            }
            (table("What was learned", &heads(&names, 3, 7), &rows))
        }
    }
}

fn jobs(learned: &Calibrated) -> Markup {
    let row = |job: &JobOutcome| {
        html! {
            tr {
                th scope="row" { (job.line) }
                td { (plain(&job.material)) ", " (fixed(job.wire_mm, 2)) " mm " (plain(&job.wire_kind)) }
                td { (job.machine.as_deref().map_or_else(|| "–".to_owned(), plain)) }
                td { (job.minutes_hold) }
                td.job-number { (rounded(job.expected_min, 0, "")) }
                td.job-number { (fixed(job.real_min, 0)) }
                td.job-number { (words::signed_percent(100.0 * job.off().exp_m1())) }
                td { @if job.is_wild { "far off: without weight" } }
            }
        }
    };
    let names = [
        "Line",
        "Work",
        "Machine",
        "Minutes hold",
        "Estimated",
        "Actual",
        "Actual is off",
        "",
    ];
    let rows = html! { @for job in &learned.jobs { (row(job)) } };
    html! {
        section aria-labelledby="job-compared" {
            h2 id="job-compared" { "Estimate against actual, worst first" }
            p.job-quiet { "In brackets where 95 % of such jobs lie. Minutes hold what the log says of each job." }
            @if let Some(picture) = svg::finished_jobs(&learned.jobs) { div.job-chart { (PreEscaped(picture)) } }
            (table("Finished jobs", &heads(&names, 4, 7), &rows))
        }
    }
}

fn left_out(learned: &Calibrated) -> Markup {
    let told = words::told_of_log(learned);
    html! {
        @if !told.is_empty() {
            section aria-labelledby="job-left-out" {
                h2 id="job-left-out" { "What to know of the log" }
                ul { @for words in told { li { (words) } } }
            }
        }
    }
}
