use maud::{Markup, PreEscaped, html};

use super::table::{heads, rounded, table};
use crate::estimate::Accuracy;
use crate::job::{OffsetBasis, Scope};
use crate::message::number::{fixed, short, um};
use crate::pass::Surface;
use crate::plan::{GroupPlan, Plan, WallRequirement};
use crate::report::{pieces, svg, words};
use crate::shop::Figure;
use crate::units::Band;

/// Writes the finished wall of each demand group: accuracy budget as a picture and a table, and the surface.
pub(super) fn section(plan: &Plan) -> Markup {
    html! {
        section aria-labelledby="job-wall" {
            h2 id="job-wall" { "Finished wall: accuracy and surface" }
            p.job-quiet {
                "What the model expects of the wall after the last pass; prove by measuring. Uncertainties are combined in \
                 the manner of JCGM 100; sizes hold at 20 °C (ISO 1)."
            }
            @for group in &plan.groups { (wall(plan, group)) }
        }
    }
}

fn wall(plan: &Plan, group: &GroupPlan) -> Markup {
    let quality = &group.quality;
    html! {
        @if plan.groups.len() > 1 { h3 { "Group " (group.group) } }
        dl {
            (held_against(group))
            @if let Some(accuracy) = &quality.accuracy { (sums(accuracy)) }
            @if let Some(why) = pieces::not_skimmed(plan, group.group) { dt { "Expected error" } dd { (why) } }
            (surface(&quality.surface))
        }
        @if let Some(chart) = svg::accuracy_budget(group) {
            div.job-chart { (PreEscaped(chart)) }
        }
        @if let Some(accuracy) = &quality.accuracy { (terms(accuracy, &group.requirement)) }
    }
}

fn held_against(group: &GroupPlan) -> Markup {
    let asked = &group.requirement;
    let verdict = group.verdict().zip(group.quality.accuracy.as_ref());
    html! {
        @if let Some(ra_um) = asked.ra_um { dt { "Finish asked" } dd { "Ra " (short(ra_um, 3)) " µm" } }
        @if asked.limits.is_some() {
            dt { "Limits asked" }
            dd { (limits(asked)) @if let Some((verdict, budget)) = verdict { ": " (words::verdict(verdict, budget.offset_basis)) } }
        }
    }
}

/// `-10 to +10 µm on size`; empty without limits.
pub(super) fn limits(asked: &WallRequirement) -> String {
    let Some((limits, scope)) = asked.limits else {
        return String::new();
    };
    let of = match scope {
        Scope::OnSize => "on size",
        Scope::PerSide => "a side",
    };
    let [lower, upper] = [limits.lower_mm, limits.upper_mm].map(|mm| {
        let sign = if mm > 0.0 { "+" } else { "" };
        format!("{sign}{}", um(mm))
    });
    format!("{lower} to {upper} µm {of}")
}

fn sums(accuracy: &Accuracy) -> Markup {
    let of = |expanded: Band, bias: &Figure| {
        let shift = match bias.value.expected {
            0.0 => String::new(),
            um => format!(", and {} µm known shift at 20 °C", short(um, 2)),
        };
        format!("± {}{shift}", rounded(expanded, 1, "µm"))
    };
    let known = words::offset_basis(accuracy.offset_basis);
    let [side, size] = &accuracy.modelled;
    html! {
        dt { "Expected error on size, k = " (short(accuracy.k, 1)) }
        dd { (of(accuracy.expanded_on_size_um, &accuracy.bias_on_size_um)) ", " (known) }
        dt { "Expected error a side, k = " (short(accuracy.k, 1)) }
        dd { (of(accuracy.expanded_per_side_um, &accuracy.bias_per_side_um)) ", " (known) }
        @if accuracy.offset_basis == OffsetBasis::Gauged {
            dt { "Before that, with the offset as modelled" }
            dd { (of(size.value, &accuracy.bias_on_size_um)) " on size" }
            dd { (of(side.value, &accuracy.bias_per_side_um)) " a side" }
        }
    }
}

fn surface(surface: &Surface) -> Markup {
    html! {
        dt { "Ra" } dd { (rounded(surface.ra_um, 2, "µm")) }
        dt { "Grade" }
        dd {
            @if let Some(grade) = surface.n_grade { "N" (grade) ", " }
            "VDI " (rounded(surface.vdi_class, 0, ""))
        }
        dt { "Rz" } dd { (rounded(surface.rz_um.value, 1, "µm")) }
        dt { "Recast layer" } dd { (rounded(surface.recast_um.value, 1, "µm")) }
    }
}

fn terms(accuracy: &Accuracy, asked: &WallRequirement) -> Markup {
    let scope = asked.limits.map_or(Scope::OnSize, |(_, scope)| scope);
    let rows = html! {
        @for term in accuracy.ranked(scope) {
            tr {
                th scope="row" { (term.half_width_um.name) }
                td.job-number { (fixed(term.half_width_um.value.expected, 2)) }
                td.job-number { (fixed(term.per_side_um.expected, 2)) }
                td.job-number { (fixed(term.on_size_um.expected, 2)) }
                td { (term.remedy) }
            }
        }
    };
    let names = [
        "Uncertainty",
        "Half-width µm",
        "Standard, a side µm",
        "Standard, on size µm",
        "What would help",
    ];
    table("Accuracy budget", &heads(&names, 1, 4), &rows)
}
