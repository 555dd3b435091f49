//! The finished wall: accuracy and surface.

use super::frames::{ColumnOf, Pair, Section, SectionPart, ViewTable};
use crate::estimate::{Accuracy, BudgetTerm};
use crate::job::{OffsetBasis, Scope};
use crate::message::number::short;
use crate::message::{UnitSymbol, message, of_unit, roughness_um, um};
use crate::pass::Surface;
use crate::plan::{GroupPlan, Plan, WallRequirement};
use crate::report::{pieces, words};
use crate::shop::Figure;
use crate::units::Band;

/// Returns the wall of each demand group: what is called for, what is expected, and what makes up the expected error.
pub(super) fn sections(plan: &Plan, pictures: Vec<Option<String>>) -> Vec<Section> {
    let note = "model estimate: confirm by measuring. Uncertainties are combined in the manner of JCGM 100; sizes hold at 20 °C (ISO 1)";
    let pictures = pictures.into_iter().chain(std::iter::repeat(None));
    let walls = plan.groups.iter().zip(pictures).map(|(group, picture)| {
        let (id, title) = if plan.groups.len() > 1 {
            (
                format!("wall-{}", group.group),
                message!("finished wall, group {}", group.group),
            )
        } else {
            ("wall".to_owned(), "finished wall: accuracy and surface".into())
        };
        wall(plan, group, picture, Section::new(id, title).note(note))
    });
    walls.collect()
}

fn wall(plan: &Plan, group: &GroupPlan, picture: Option<String>, section: Section) -> Section {
    let quality = &group.quality;
    let mut pairs = called_for(group);
    if let Some(budget) = &quality.accuracy {
        pairs.extend(sums(budget));
    }
    pairs.extend(pieces::not_skimmed(plan, group.group).map(|why| Pair::new("expected size error", why)));
    pairs.extend(surface(&quality.surface));
    let section = section.with(SectionPart::Pairs(pairs)).with_picture(picture);
    match &quality.accuracy {
        Some(budget) => section.with(SectionPart::Table(terms(budget, &group.requirement))),
        None => section,
    }
}

/// What is called for, and whether it is expected.
fn called_for(group: &GroupPlan) -> Vec<Pair> {
    let asked = &group.requirement;
    let finish = asked.ra_um.map(|ra_um| {
        Pair::new(
            "finish called for",
            message!("Ra {}", roughness_um(ra_um).at_most(3)),
        )
    });
    let limits = words::limits(asked).map(|limits| {
        let verdict = group.verdict().zip(group.quality.accuracy.as_ref());
        let words = verdict.map_or_else(
            || "not known".to_owned(),
            |(verdict, budget)| words::verdict(verdict, budget),
        );
        Pair::new("limits called for", message!("{}; {}", limits, words))
    });
    finish.into_iter().chain(limits).collect()
}

/// The expected error, as gauged where the offset is, and as modelled.
fn sums(budget: &Accuracy) -> Vec<Pair> {
    let k = short(budget.k, 1);
    let pair = |of: &str, known: &str, expanded: Band, bias: &Figure| {
        let shift = match bias.value.expected {
            0.0 => None,
            known_um => Some(message!(", and {} known shift at 20 °C", um(known_um).at_most(2))),
        };
        Pair::new(
            message!("{}, {} (k = {})", of, known, k),
            message!("±{}{}", um(expanded).fixed(1), shift),
        )
    };
    let both = |known: &str, [side, size]: [Band; 2]| {
        [
            pair("expected error on size", known, size, &budget.bias_on_size_um),
            pair("expected error a side", known, side, &budget.bias_per_side_um),
        ]
    };
    let expanded = [budget.expanded_per_side_um, budget.expanded_on_size_um];
    let gauged = budget
        .gauged_on
        .as_ref()
        .map(|date| format!("offset gauged on {date}"));
    let (known, modelled) = match (&gauged, budget.offset_basis) {
        (Some(gauged), _) => (gauged.as_str(), None),
        (None, OffsetBasis::Gauged) => (
            "after gauging",
            Some(budget.modelled.each_ref().map(|figure| figure.value)),
        ),
        (None, OffsetBasis::Modelled) => ("as modelled", None),
    };
    let modelled = modelled.map(|modelled| both("as modelled", modelled));
    both(known, expanded)
        .into_iter()
        .chain(modelled.into_iter().flatten())
        .collect()
}

fn surface(surface: &Surface) -> [Pair; 4] {
    let grade = surface.n_grade.map(|grade| message!("N{}, ", grade));
    [
        Pair::new("Ra", message!("{}", roughness_um(surface.ra_um).fixed(2))),
        Pair::new(
            "grade",
            message!("{}VDI {}", grade, of_unit(surface.vdi_class, "").fixed(0)),
        ),
        Pair::new("Rz", message!("{}", roughness_um(surface.rz_um.value).fixed(1))),
        Pair::new(
            "recast layer",
            message!("{}", um(surface.recast_um.value).fixed(1)),
        ),
    ]
}

/// What the expected error is made of, the largest first.
fn terms(budget: &Accuracy, asked: &WallRequirement) -> ViewTable {
    use UnitSymbol::Um;
    type Row = BudgetTerm;
    let scope = asked.limits.map_or(Scope::OnSize, |(_, scope)| scope);
    let columns = vec![
        ColumnOf::name("uncertainty", |row: &&Row| row.half_width_um.name.as_str()),
        ColumnOf::number("half-width", Um, |row: &&Row| {
            um(row.half_width_um.value.expected).fixed(2)
        }),
        ColumnOf::number("standard {} a side", Um, |row: &&Row| {
            um(row.per_side_um.expected).fixed(2)
        }),
        ColumnOf::number("standard {} on size", Um, |row: &&Row| {
            um(row.on_size_um.expected).fixed(2)
        }),
        ColumnOf::words("to reduce", |row: &&Row| message!("{}", row.remedy)),
    ];
    ViewTable::new(columns, budget.ranked(scope), (3, 200))
}
