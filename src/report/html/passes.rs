use maud::{Markup, html};

use super::table::{heads, table};
use crate::check::path_words::{incomplete_sentence, refusal_in_words};
use crate::id::GroupId;
use crate::message::number::{counted, fixed, short, um};
use crate::pass::Pass;
use crate::plan::Plan;
use crate::report::words;

const NAMES: [&str; 10] = [
    "Pass",
    "Offset µm",
    "Spark gap µm",
    "Stock left µm",
    "mm²/min",
    "Feed mm/min",
    "Path mm",
    "Cut area mm²",
    "Minutes",
    "Ra µm if last",
];

/// Writes the passes of each group.
pub(super) fn section(plan: &Plan) -> Markup {
    html! {
        section aria-labelledby="job-passes" {
            h2 id="job-passes" { "Passes" }
            @for group in &plan.groups {
                p.job-quiet {
                    @if plan.groups.len() > 1 { "Group " (group.group) ", " }
                    (counted(group.contours.len(), "contour"))
                    ". Offset is from the wire's centre to the finished wall. Model offsets: cut and gauge a test piece first."
                }
                @let rows = html! { @for pass in group.passes() { (row(plan, group.group, pass)) } };
                (table("Passes", &heads(&NAMES, 1, NAMES.len()), &rows))
            }
            (left_out(plan))
            @if !plan.toolpaths.refusals.is_empty() {
                p.job-caution { "Refused paths; no total and no price is given:" }
                ul {
                    @for refusal in &plan.toolpaths.refusals {
                        li {
                            "contour " (refusal.contour) ", pass " (refusal.pass) ", x " (short(refusal.at.x, 4))
                            " y " (short(refusal.at.y, 4)) " mm: " (refusal_in_words(refusal.reason))
                        }
                    }
                }
            }
        }
    }
}

/// Contours to be cut that have no place in the order.
fn left_out(plan: &Plan) -> Markup {
    const LISTED: usize = 40;
    let left_out: Vec<_> = plan
        .toolpaths
        .left_out()
        .filter(|one| !plan.waits_for_answer(one.contour))
        .collect();
    let count = left_out.len();
    html! {
        @if count > 0 {
            p.job-caution { "Left out, without path, start hole, lead, step, time or cost:" }
            ul { @for left_out in left_out.iter().take(LISTED) { li { "contour " (left_out.contour) ": " (incomplete_sentence(**left_out)) } } }
            @if count > LISTED { p { "… and " (count - LISTED) " more; the JSON lists all." } }
        }
    }
}

fn row(plan: &Plan, group: GroupId, pass: &Pass) -> Markup {
    let cut = plan
        .estimate
        .cut
        .rows
        .iter()
        .find(|row| (row.group, row.pass) == (group, pass.pass));
    let known =
        |value: Option<f64>, decimals| value.map_or_else(|| "–".to_owned(), |value| fixed(value, decimals));
    html! {
        tr {
            th scope="row" { (pass.pass) " " (words::pass_kind(pass.kind)) }
            td.job-number { (um(pass.offset_mm)) }
            td.job-number { (um(pass.spark_gap_mm)) }
            td.job-number { (um(pass.stock_mm)) }
            td.job-number { (fixed(pass.area_rate_mm2_min.expected, 1)) }
            td.job-number { (fixed(pass.feed_mm_min.expected, 2)) }
            td.job-number { (known(cut.and_then(|cut| cut.path_length_mm), 4)) }
            td.job-number { (known(cut.and_then(|cut| cut.cut_area_mm2), 1)) }
            td.job-number { (known(cut.and_then(|cut| cut.minutes).map(|minutes| minutes.expected), 1)) }
            td.job-number { (short(pass.ra_um.expected, 2)) }
        }
    }
}

/// Places that the last pass does not reach, the worst first.
pub(super) fn unreached(plan: &Plan) -> Markup {
    const LISTED: usize = 40;
    let mut places: Vec<_> = plan.toolpaths.unreached.iter().collect();
    places.sort_by(|a, b| b.deviation_mm.total_cmp(&a.deviation_mm));
    let rows = html! {
        @for place in places.iter().take(LISTED) {
            tr {
                th scope="row" { (place.contour) }
                td.job-number { (short(place.at.x, 4)) }
                td.job-number { (short(place.at.y, 4)) }
                td.job-number { (um(place.deviation_mm)) }
                td.job-number { (short(place.area_mm2, 6)) }
                td { (words::unreached(place.kind)) }
            }
        }
    };
    let names = ["Contour", "x mm", "y mm", "Stays, up to µm", "Area mm²", "Kind"];
    html! {
        @if !places.is_empty() {
            section aria-labelledby="job-unreached" {
                h2 id="job-unreached" { "Not reached by the last pass" }
                (table("Not reached by the last pass", &heads(&names, 1, 5), &rows))
                @if places.len() > LISTED { p { "… and " (places.len() - LISTED) " more, all less; the JSON lists all." } }
            }
        }
    }
}
