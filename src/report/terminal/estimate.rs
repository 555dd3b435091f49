use std::fmt::Write as _;

use super::{ERROR, HEADING, QUIET, WARNING};
use crate::estimate::{Accuracy, CostBreakdown, Time};
use crate::job::{OffsetBasis, Scope};
use crate::message::number::{amount, counted, duration, fixed, fixed_band, plain, short, um};
use crate::pass::Surface;
use crate::plan::{GroupPlan, Plan, WallRequirement, order_days};
use crate::report::{pieces, words};
use crate::shop::Figure;
use crate::units::Band;

/// Time, wire, money, accuracy and surface, each with what it may be.
pub(super) fn estimate(plan: &Plan) -> String {
    let estimate = &plan.estimate;
    let mut text = format!("\n{HEADING}estimate{HEADING:#} (expected, with what it may be)\n");
    let calibrated = plan.is_calibrated();
    let style = if calibrated { QUIET } else { WARNING };
    let _ = writeln!(
        text,
        "  {style}{}{style:#}",
        words::confidence(estimate.confidence)
    );
    if let Some(why) = words::no_totals(plan) {
        let _ = writeln!(text, "  {ERROR}no total and no price{ERROR:#}: {}", plain(&why));
    }
    text.push_str(&cut(plan));
    if let Some(time) = &estimate.time {
        let _ = writeln!(text, "\n{HEADING}time of {}{HEADING:#}", words::drawn(plan));
        text.push_str(&minutes(time));
    }
    if let Some(costs) = &estimate.costs {
        let _ = writeln!(text, "\n{HEADING}order of {}{HEADING:#}", words::ordered(plan));
        text.push_str(&order(plan, costs));
        let _ = writeln!(
            text,
            "\n{HEADING}ledger of the order{HEADING:#} in {} ({})",
            plain(&costs.currency),
            words::confidence(costs.confidence)
        );
        text.push_str(&money(costs));
    }
    for group in &plan.groups {
        let named = if plan.groups.len() > 1 {
            format!(", group {}", group.group)
        } else {
            String::new()
        };
        let _ = writeln!(
            text,
            "\n{HEADING}finished wall{named}{HEADING:#} (the model expects; prove by measuring)"
        );
        text.push_str(&surface(&group.quality.surface));
        if let Some(budget) = &group.quality.accuracy {
            text.push_str(&accuracy(budget, &group.requirement));
        }
        if let Some(why) = pieces::not_skimmed(plan, group.group) {
            line(&mut text, "expected error", &why);
        }
        text.push_str(&held_against(group));
    }
    text.push_str(&what_helps(plan));
    text
}

fn line(text: &mut String, name: &str, value: &str) {
    let _ = writeln!(text, "  {name:<37} {value}");
}

fn cut(plan: &Plan) -> String {
    let cut = &plan.estimate.cut;
    let area = |value: Option<f64>| value.map_or_else(unknown, |mm2| format!("{} mm²", fixed(mm2, 1)));
    let figure =
        |figure: Option<&Figure>, decimals| figure.map_or_else(unknown, |figure| rounded(figure, decimals));
    let mut text = String::new();
    line(&mut text, "cut area, rough", &area(cut.rough_area_mm2));
    line(&mut text, "cut area, all passes", &area(cut.pass_area_mm2));
    let cutting = cut.minutes.as_ref();
    let cutting = cutting.map_or_else(unknown, |figure| duration(figure.value));
    line(&mut text, "cutting", &cutting);
    let wire = plan.estimate.time.as_ref().map(|time| &time.wire);
    line(&mut text, "wire", &figure(wire.map(|wire| &wire.metres), 0));
    line(&mut text, "", &figure(wire.map(|wire| &wire.kg), 2));
    text
}

fn minutes(time: &Time) -> String {
    let mut text = String::new();
    for term in &time.piece {
        let value = format!(
            "{}, {}",
            duration(term.minutes.value),
            words::presence(term.presence)
        );
        line(&mut text, &term.minutes.name, &value);
    }
    line(&mut text, "at the machine", &duration(time.machine_minutes.value));
    let unattended = format!("{} h", fixed_band(time.unattended_hours.value, 1));
    line(&mut text, "of that runs by itself", &unattended);
    line(&mut text, "set-up of a load", &duration(time.setup.value));
    line(
        &mut text,
        "shifts of machine time",
        &fixed_band(time.shifts.value, 2),
    );
    text
}

/// What the order takes, all its pieces together.
fn order(plan: &Plan, costs: &CostBreakdown) -> String {
    let totals = &costs.totals;
    let mut text = String::new();
    line(
        &mut text,
        "machine, all with set-ups",
        &duration(totals.machine_minutes.value),
    );
    line(
        &mut text,
        "shifts of the order",
        &fixed_band(totals.shifts.value, 2),
    );
    if let Some(days) = order_days(plan) {
        line(&mut text, "days", &words::order_days(days));
    }
    line(
        &mut text,
        "operator, all with set-ups",
        &duration(totals.attended_minutes.value),
    );
    line(
        &mut text,
        "set-ups of the order",
        &duration(totals.setup_minutes.value),
    );
    line(
        &mut text,
        "set-up, share of a piece",
        &duration(totals.setup_share.value),
    );
    if let Some(drilling) = &totals.drilling_minutes {
        line(
            &mut text,
            "start holes, on another machine",
            &duration(drilling.value),
        );
    }
    line(
        &mut text,
        "programming time",
        &duration(totals.programming_minutes.value),
    );
    line(
        &mut text,
        "inspection time",
        &duration(totals.inspection_minutes.value),
    );
    line(&mut text, "wire, all", &rounded(&totals.wire_m, 0));
    line(&mut text, "", &rounded(&totals.wire_kg, 2));
    let enough = match totals.spools.value {
        Band { high, .. } if high <= 1.0 => "one is enough",
        Band { low, .. } if low > 1.0 => "one is not enough",
        _ => "one may not be enough",
    };
    let spools = format!("{}: {enough}", fixed_band(totals.spools.value, 2));
    line(&mut text, "spools of wire", &spools);
    line(
        &mut text,
        "spool changes",
        &fixed_band(totals.spool_changes.value, 0),
    );
    if let Some(kg) = &totals.blank_kg {
        line(&mut text, "mass of all blanks", &rounded(kg, 2));
    }
    line(&mut text, "blank material", words::blank_material(costs.blank));
    text
}

/// A figure with its unit.
fn rounded(figure: &Figure, decimals: usize) -> String {
    format!("{} {}", fixed_band(figure.value, decimals), figure.unit)
        .trim_end()
        .to_owned()
}

/// Bands stand first: the expected figure alone looks surer than it is.
fn money(costs: &CostBreakdown) -> String {
    let money = |figure: &Figure| amount(figure.value);
    let mut text = String::new();
    let shown = |figure: &&Figure| figure.value.high > 0.0;
    for fixed in costs.fixed.iter().filter(shown) {
        line(&mut text, &format!("fixed: {}", fixed.name), &money(fixed));
    }
    let each_or_all = if costs.order.drawn > 1 {
        "all drawn"
    } else {
        "each"
    };
    for each in costs.each.iter().filter(shown) {
        line(&mut text, &format!("{each_or_all}: {}", each.name), &money(each));
    }
    for sum in costs.sums() {
        line(&mut text, &sum.name, &money(sum));
    }
    text
}

fn surface(surface: &Surface) -> String {
    let mut text = String::new();
    line(&mut text, "Ra", &format!("{} µm", fixed_band(surface.ra_um, 2)));
    let grade = surface
        .n_grade
        .map_or_else(String::new, |grade| format!("N{grade}, "));
    let vdi = format!("{grade}VDI {}", fixed_band(surface.vdi_class, 0));
    line(&mut text, "grade", &vdi);
    line(
        &mut text,
        "Rz",
        &format!("{} µm", fixed_band(surface.rz_um.value, 1)),
    );
    line(
        &mut text,
        "recast layer",
        &format!("{} µm", fixed_band(surface.recast_um.value, 1)),
    );
    text
}

fn accuracy(budget: &Accuracy, asked: &WallRequirement) -> String {
    const SHOWN: usize = 3;
    let mut text = String::new();
    let shift = |figure: &Figure| match figure.value.expected {
        0.0 => String::new(),
        um => format!(", and {} µm known shift at 20 °C", short(um, 2)),
    };
    let of = |expanded: Band, bias: &Figure| format!("±{} µm{}", fixed_band(expanded, 1), shift(bias));
    let known = match budget.offset_basis {
        OffsetBasis::Gauged => "offset gauged",
        OffsetBasis::Modelled => "as modelled",
    };
    let k = short(budget.k, 1);
    let mut sums = |known: &str, [side, size]: [Band; 2]| {
        let size = of(size, &budget.bias_on_size_um);
        line(&mut text, &format!("on size, {known} (k = {k})"), &size);
        let side = of(side, &budget.bias_per_side_um);
        line(&mut text, &format!("a side, {known} (k = {k})"), &side);
    };
    sums(known, [budget.expanded_per_side_um, budget.expanded_on_size_um]);
    if budget.offset_basis == OffsetBasis::Gauged {
        sums(
            "as modelled",
            budget.modelled.each_ref().map(|figure| figure.value),
        );
    }
    let (scope, of) = match asked.limits {
        Some((_, Scope::PerSide)) => (Scope::PerSide, "a side"),
        _ => (Scope::OnSize, "on size"),
    };
    for (i, term) in budget.ranked(scope).into_iter().take(SHOWN).enumerate() {
        let name = if i == 0 { "most of it (standard)" } else { "" };
        let value = format!(
            "{}: {} µm {of}; would help: {}",
            term.half_width_um.name,
            fixed(term.standard_um(scope).expected, 1),
            term.remedy
        );
        line(&mut text, name, &value);
    }
    if let Some(more) = budget.terms.len().checked_sub(SHOWN).filter(|more| *more > 0) {
        line(
            &mut text,
            "",
            &format!("and {} more, each less", counted(more, "term")),
        );
    }
    text
}

/// Writes the requirement and its verdict before measuring.
fn held_against(group: &GroupPlan) -> String {
    let asked = &group.requirement;
    let mut text = String::new();
    if let Some(ra_um) = asked.ra_um {
        line(&mut text, "asked", &format!("Ra {} µm", short(ra_um, 3)));
    }
    if let Some((limits, scope)) = asked.limits {
        let of = match scope {
            Scope::OnSize => "on size",
            Scope::PerSide => "a side",
        };
        let [lower, upper] = [limits.lower_mm, limits.upper_mm].map(|mm| {
            let sign = if mm > 0.0 { "+" } else { "" };
            format!("{sign}{}", um(mm))
        });
        let verdict = group.verdict().zip(group.quality.accuracy.as_ref());
        let words = verdict.map_or_else(
            || "nothing can be said".to_owned(),
            |(verdict, budget)| words::verdict(verdict, budget.offset_basis),
        );
        line(
            &mut text,
            "asked",
            &format!("{lower} to {upper} µm {of}: {words}"),
        );
    }
    text
}

/// Writes what would make the expected error smaller, where that was tried.
fn what_helps(plan: &Plan) -> String {
    let Some(remedies) = &plan.remedies else {
        return String::new();
    };
    let mut text =
        format!("\n{HEADING}what would help{HEADING:#} (tried on this plan; its own cost left aside)\n");
    if remedies.is_empty() {
        text.push_str("  nothing that was tried brings half a micrometre\n");
    }
    let costs = plan.estimate.costs.as_ref();
    let currency = costs.map_or("", |costs| costs.currency.as_str());
    for remedy in remedies {
        let reaches = if remedy.reaches {
            ", all that is asked is expected to be reached, gauged"
        } else {
            ""
        };
        let sign = if remedy.cost_more < 0.0 { "−" } else { "+" };
        let brings = format!(
            "{} µm less, ±{} µm; order {sign}{} {}{reaches}",
            fixed(remedy.brings_um, 1),
            fixed(remedy.error_um, 1),
            fixed(remedy.cost_more.abs(), 0),
            plain(currency)
        );
        let _ = writeln!(text, "  {}: {brings}", words::remedy(&remedy.kind));
    }
    text
}

fn unknown() -> String {
    "not given".into()
}
