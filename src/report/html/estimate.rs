use maud::{Markup, html};

use super::table::{band_cells, heads, minutes, rounded, table, unknown};
use crate::estimate::{CostBreakdown, Time};
use crate::message::number::{fixed, plain};
use crate::plan::{Plan, order_days};
use crate::report::words;
use crate::shop::Figure;

/// Time, wire and money: every term, with what it may be.
pub(super) fn section(plan: &Plan) -> Markup {
    let cut = &plan.estimate.cut;
    let estimate = &plan.estimate;
    let area = |value: Option<f64>| value.map_or_else(unknown, |mm2| format!("{} mm²", fixed(mm2, 1)));
    let wire = estimate.time.as_ref().map(|time| &time.wire);
    let figure = |figure: Option<&Figure>, decimals| {
        figure.map_or_else(unknown, |figure| rounded(figure.value, decimals, figure.unit))
    };
    html! {
        section aria-labelledby="job-estimate" {
            @let totals = estimate.totals();
            h2 id="job-estimate" { "Estimate" }
            p { strong { (words::confidence(estimate.confidence)) "." } }
            @if let Some(why) = words::no_totals(plan) {
                p.job-caution { "No total and no price: " (plain(&why)) "." }
            }
            p.job-quiet { "Expected, and in brackets what it may be. The model expects; prove by measuring." }
            dl {
                dt { "Cut area, rough" } dd { (area(cut.rough_area_mm2)) }
                dt { "Cut area, all passes" } dd { (area(cut.pass_area_mm2)) }
                dt { "Cutting" } dd { (minutes(cut.minutes.as_ref().map(|minutes| minutes.value))) }
                dt { (words::capitalised(&words::drawn(plan))) " at the machine" }
                dd { (minutes(totals.map(|totals| totals.machine_minutes))) }
                dt { "The order at the machine, with set-ups" }
                dd { (minutes(totals.map(|totals| totals.order_minutes))) }
                dt { "Wire" } dd { (figure(wire.map(|wire| &wire.metres), 0)) "; " (figure(wire.map(|wire| &wire.kg), 2)) }
            }
            @if let Some(time) = &estimate.time { (piece(plan, time)) }
            @if let Some(costs) = &estimate.costs { (order(plan, costs)) (money(costs)) }
        }
    }
}

fn piece(plan: &Plan, time: &Time) -> Markup {
    let drawn = words::drawn(plan);
    let rows = html! {
        @for term in &time.piece {
            tr {
                th scope="row" { (term.minutes.name) }
                (band_cells(term.minutes.value, 1))
                td { (words::presence(term.presence)) }
            }
        }
        tr.job-sum {
            th scope="row" { (drawn) " at the machine" }
            (band_cells(time.machine_minutes.value, 1))
            td {}
        }
        tr {
            th scope="row" { "set-up of a load" }
            (band_cells(time.setup.value, 1))
            td { (words::presence(crate::estimate::Presence::Attended)) }
        }
    };
    html! {
        h3 { "Time of " (drawn) ", minutes" }
        (table(&format!("Time of {drawn}"), &heads(&["Term", "Low", "Expected", "High", "Who is there"], 1, 4), &rows))
        p {
            "Of that the machine runs by itself " (rounded(time.unattended_hours.value, 1, "h")) "; it takes "
            (rounded(time.shifts.value, 2, "")) " shifts of machine time."
        }
    }
}

/// What the order takes, all its pieces together.
fn order(plan: &Plan, costs: &CostBreakdown) -> Markup {
    let totals = &costs.totals;
    let figure = |figure: &Figure, decimals| rounded(figure.value, decimals, figure.unit);
    let time = |figure: &Figure| minutes(Some(figure.value));
    html! {
        h3 { "Order of " (words::ordered(plan)) }
        dl {
            dt { "Machine, with set-ups" } dd { (time(&totals.machine_minutes)) }
            dt { "Shifts of machine time" } dd { (figure(&totals.shifts, 2)) }
            @if let Some(days) = order_days(plan) { dt { "Days" } dd { (words::order_days(days)) } }
            dt { "Operator at the machine" } dd { (time(&totals.attended_minutes)) }
            dt { "Set-ups" } dd { (time(&totals.setup_minutes)) }
            dt { "Their share of a piece" } dd { (time(&totals.setup_share)) }
            @if let Some(drilling) = &totals.drilling_minutes { dt { "Start holes, on another machine" } dd { (time(drilling)) } }
            dt { "Programming" } dd { (time(&totals.programming_minutes)) }
            dt { "Inspection" } dd { (time(&totals.inspection_minutes)) }
            dt { "Wire" } dd { (figure(&totals.wire_m, 0)) "; " (figure(&totals.wire_kg, 2)) }
            dt { "Spools" } dd { (figure(&totals.spools, 2)) }
            dt { "Spool changes" } dd { (figure(&totals.spool_changes, 0)) }
            @if let Some(kg) = &totals.blank_kg { dt { "Blanks" } dd { (figure(kg, 2)) } }
            dt { "Blank material" } dd { (words::blank_material(costs.blank)) }
        }
    }
}

fn money(costs: &CostBreakdown) -> Markup {
    let line = |kind: &str, figure: &Figure| {
        html! {
            tr {
                th scope="row" { (kind) (figure.name) }
                (band_cells(figure.value, 2))
            }
        }
    };
    let shown = |figure: &&Figure| figure.value.high > 0.0;
    let rows = html! {
        @for figure in costs.fixed.iter().filter(shown) { (line("fixed: ", figure)) }
        @for figure in costs.each.iter().filter(shown) { (line(if costs.order.drawn > 1 { "all drawn: " } else { "each: " }, figure)) }
        @for sum in costs.sums() {
            tr.job-sum {
                th scope="row" { (sum.name) }
                (band_cells(sum.value, 2))
            }
        }
    };
    html! {
        h3 { "Ledger of the order, " (plain(&costs.currency)) }
        p.job-quiet { (words::confidence(costs.confidence)) "." }
        (table("Ledger of the order", &heads(&["Line", "Low", "Expected", "High"], 1, 4), &rows))
    }
}
