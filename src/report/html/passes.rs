use maud::{Markup, html};

use crate::pass::Pass;
use crate::plan::Plan;
use crate::report::number::{counted, fixed, short, um};
use crate::report::words;

/// The passes of each group.
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
                table {
                    thead {
                        tr {
                            th scope="col" { "Pass" }
                            th.job-number scope="col" { "Offset µm" }
                            th.job-number scope="col" { "Spark gap µm" }
                            th.job-number scope="col" { "Stock left µm" }
                            th.job-number scope="col" { "Feed mm/min" }
                            th.job-number scope="col" { "Path mm" }
                            th.job-number scope="col" { "Cut area mm²" }
                            th.job-number scope="col" { "Minutes" }
                            th.job-number scope="col" { "Ra µm if last" }
                        }
                    }
                    tbody { @for pass in &group.passes { (row(plan, group.group, pass)) } }
                }
            }
            @if !plan.paths.refusals.is_empty() {
                p.job-caution { "Refused paths; totals that need them are not given:" }
                ul {
                    @for refusal in &plan.paths.refusals {
                        li {
                            "contour " (refusal.contour) ", pass " (refusal.pass) ", x " (short(refusal.at.x, 4))
                            " y " (short(refusal.at.y, 4)) " mm: " (refusal.reason)
                        }
                    }
                }
            }
        }
    }
}

fn row(plan: &Plan, group: usize, pass: &Pass) -> Markup {
    let cut = plan
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
            td.job-number { (fixed(pass.feed_mm_min.expected, 2)) }
            td.job-number { (known(cut.and_then(|cut| cut.path_length_mm), 4)) }
            td.job-number { (known(cut.and_then(|cut| cut.cut_area_mm2), 1)) }
            td.job-number { (known(cut.and_then(|cut| cut.minutes).map(|minutes| minutes.expected), 1)) }
            td.job-number { (short(pass.ra_um.expected, 2)) }
        }
    }
}

/// Places that the last pass does not reach.
pub(super) fn unreached(plan: &Plan) -> Markup {
    const LISTED: usize = 100;
    let places = &plan.paths.unreached;
    html! {
        @if !places.is_empty() {
            section aria-labelledby="job-unreached" {
                h2 id="job-unreached" { "Not reached by the last pass" }
                table {
                    thead {
                        tr {
                            th scope="col" { "Contour" }
                            th.job-number scope="col" { "x mm" }
                            th.job-number scope="col" { "y mm" }
                            th scope="col" { "Kind" }
                            th.job-number scope="col" { "Stays, up to µm" }
                            th.job-number scope="col" { "Area mm²" }
                        }
                    }
                    tbody {
                        @for place in places.iter().take(LISTED) {
                            tr {
                                th scope="row" { (place.contour) }
                                td.job-number { (short(place.at.x, 4)) }
                                td.job-number { (short(place.at.y, 4)) }
                                td { (words::unreached(place.kind)) }
                                td.job-number { (um(place.deviation_mm)) }
                                td.job-number { (short(place.area_mm2, 6)) }
                            }
                        }
                    }
                }
                @if places.len() > LISTED { p { "… and " (places.len() - LISTED) " more; the JSON lists all." } }
            }
        }
    }
}
