//! What the job calls for, and the state of its totals.

use super::frames::{ColumnOf, LONG, Pair, Section, SectionPart, Tone, ViewTable};
use crate::message::{Message, UnitSymbol, message, mm, roughness_um, um_of_mm};
use crate::plan::{GroupPlan, Plan};
use crate::report::sides::SideSources;
use crate::report::words;

/// Returns the work, the order and the requirement of each demand group.
pub(super) fn section(plan: &Plan) -> Section {
    let setup = &plan.setup;
    let kind = setup.wire_kind.as_deref().map(|kind| message!(", {}", kind));
    let mut pairs = vec![
        Pair::new("material", setup.material.as_str()),
        Pair::new("thickness", message!("{}", mm(setup.thickness_mm).at_most(4))),
        Pair::new("wire", message!("{}{}", mm(setup.wire_mm).at_most(4), kind)),
        Pair::new("machine", setup.machine.as_deref().unwrap_or("default machine")),
    ];
    pairs.extend(words::parts(&plan.parts).map(|parts| Pair::new("parts drawn", parts)));
    pairs.extend(words::order(plan).map(|order| Pair::new("order", order)));
    pairs.push(Pair::new("drawing unit", plan.inspection.drawing.units.name));
    pairs.push(Pair::new(
        "length of cut",
        message!("{}", mm(plan.inspection.totals().cut_perimeter_mm).fixed(4)),
    ));
    pairs.extend(
        SideSources::of(&plan.inspection)
            .in_words()
            .map(|sources| Pair::new("sides", sources)),
    );
    pairs.extend(super::passes::verified(plan).map(|words| Pair::new("paths", words)));
    Section::new("asked", "job requirements")
        .with(SectionPart::Pairs(pairs))
        .with(SectionPart::Table(demands(plan)))
        .words(Tone::Alarm, no_totals(plan))
}

/// Says why there is no total and no price; empty where there are.
pub(super) fn no_totals(plan: &Plan) -> Message {
    let why = words::no_totals(plan);
    why.map_or_else(Message::default, |why| message!("no total and no price: {}", why))
}

/// Returns the requirement of each demand group.
fn demands(plan: &Plan) -> ViewTable {
    use UnitSymbol::Same;
    let columns = vec![
        ColumnOf::name("group", |row: &&GroupPlan| message!("{}", row.group)),
        ColumnOf::number("contours", Same(""), |row: &&GroupPlan| row.contours.len()),
        ColumnOf::number("passes", Same(""), |row: &&GroupPlan| row.passes().len()),
        ColumnOf::words("finish", |row: &&GroupPlan| {
            row.requirement
                .ra_um
                .map(|ra_um| message!("Ra {}", roughness_um(ra_um).at_most(3)))
        }),
        ColumnOf::words("limits", |row: &&GroupPlan| words::limits(&row.requirement)),
        ColumnOf::words("aim", |row: &&GroupPlan| match row.requirement.aim_mm {
            0.0 => "on the drawing".into(),
            aim_mm => message!("walls {} into the material", um_of_mm(aim_mm).at_most(1)),
        }),
    ];
    ViewTable::new(columns, &plan.groups, LONG)
}
