//! What the title block of a drawing sheet says.

use super::answer::head_in_short;
use super::frames::Pair;
use super::open_cuts;
use crate::message::{Message, message, mm, roughness_um, um_of_mm};
use crate::plan::{GroupPlan, Inspection, Plan};
use crate::report::sides::SideSources;
use crate::report::words;

/// Returns what the title block of a plan says, without what only the sheet knows.
pub(in crate::report) fn title_of_plan(plan: &Plan) -> Vec<Pair> {
    let mut pairs = head_in_short(plan);
    pairs.extend([
        Pair::new("material", material(plan)),
        Pair::new("wire", wire(plan)),
        Pair::new("called for", called_for(plan)),
        Pair::new("quantity", quantity(plan)),
    ]);
    pairs.extend(open_cuts::in_short(plan).map(|slits| Pair::new("slits", slits)));
    pairs.extend(of_drawing(&plan.inspection));
    pairs
}

/// Returns what the title block of an inspected drawing says.
pub(in crate::report) fn title_of_inspection(inspection: &Inspection) -> Vec<Pair> {
    let totals = inspection.totals();
    let count = format!("{} closed, {} open", totals.closed_contours, totals.open_chains);
    let mut pairs = vec![Pair::new("contours", count)];
    pairs.extend(of_drawing(inspection));
    pairs
}

fn of_drawing(inspection: &Inspection) -> Vec<Pair> {
    let units = &inspection.drawing.units;
    let sides = SideSources::of(inspection).in_words();
    let length = mm(inspection.totals().cut_perimeter_mm).fixed(3);
    let unit = format!("{}, {}", units.name, words::units_source(units.source));
    let mut pairs = vec![Pair::new("length of cut", message!("{}", length))];
    pairs.extend(sides.map(|sources| Pair::new("sides", sources)));
    pairs.push(Pair::new("unit", unit));
    pairs
}

/// Returns the title of the material, and how thick it is.
fn material(plan: &Plan) -> Message {
    let key = &plan.setup.material;
    let title = plan
        .book
        .material(key)
        .map_or(key.as_str(), |material| material.title.as_str());
    message!("{}, {}", title, mm(plan.setup.thickness_mm).at_most(4))
}

/// Returns diameter and kind of the wire.
fn wire(plan: &Plan) -> Message {
    let setup = &plan.setup;
    let kind = setup.wire_kind.as_ref().unwrap_or(&plan.book.wire.kind);
    let known = plan.book.wire(setup.wire_mm, kind);
    let title = known.map_or(kind.as_str(), |wire| wire.kind.title.as_str());
    message!("{} {}", mm(setup.wire_mm).at_most(4), title)
}

/// Returns finish and tolerance of each demand group, groups that ask the same together.
fn called_for(plan: &Plan) -> Message {
    let mut asked: Vec<(Message, Vec<&GroupPlan>)> = Vec::new();
    for group in &plan.groups {
        let words = requirement(group);
        match asked
            .iter_mut()
            .find(|(known, _)| known.to_string() == words.to_string())
        {
            Some((_, groups)) => groups.push(group),
            None => asked.push((words, vec![group])),
        }
    }
    if let [(words, _)] = asked.as_slice() {
        return words.clone();
    }
    let of_group = asked.into_iter().map(|(asked, groups)| {
        let numbers = words::number_runs(groups.iter().map(|group| group.group.number()));
        let mut contours: Vec<usize> = groups
            .iter()
            .flat_map(|group| &group.contours)
            .map(|id| id.number())
            .collect();
        contours.sort_unstable();
        message!(
            "group {} (contours {}): {}",
            numbers,
            words::number_runs(contours),
            asked
        )
    });
    Message::joined(of_group, "; ")
}

fn requirement(group: &GroupPlan) -> Message {
    let asked = &group.requirement;
    let finish = asked
        .ra_um
        .map(|ra_um| message!("Ra {}", roughness_um(ra_um).at_most(3)));
    let passes = asked.passes.map(|passes| match passes {
        1 => message!("1 pass"),
        passes => message!("{} passes", passes),
    });
    let aim = (asked.aim_mm != 0.0)
        .then(|| message!("walls {} into the material", um_of_mm(asked.aim_mm).at_most(1)));
    let parts = finish
        .into_iter()
        .chain(words::limits(asked))
        .chain(passes)
        .chain(aim);
    let called = Message::joined(parts, ", ");
    if called.is_empty() {
        "nothing".into()
    } else {
        called
    }
}

/// Returns what is ordered, and the parts of the drawing.
fn quantity(plan: &Plan) -> Message {
    let ordered = words::order(plan).unwrap_or_else(|| words::ordered(plan));
    let parts = words::parts(&plan.parts).map(|parts| format!("; drawn: {parts}"));
    message!("{}{}", ordered, parts)
}
