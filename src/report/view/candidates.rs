//! What was compared: wires, machines and numbers of passes.

use super::frames::{ColumnOf, Outlet, Pair, Section, SectionLayout, SectionPart, Tone, ViewCell, ViewTable};
use crate::message::number::{counted, fixed};
use crate::message::{Message, UnitSymbol, message, minutes, mm, of_unit, roughness_um, um, um_of_mm};
use crate::plan::{Alternatives, Candidate, Comparison, Plan, shortfalls_in_words};
use crate::report::words;
use crate::units::Band;

const MARKS: &str = "> chosen, * not beaten on all four (time, cost, finish, accuracy)";

/// Returns what a plan was chosen from, and why the others were not taken; empty where nothing was chosen.
pub(super) fn weighed(plan: &Plan) -> [Section; 2] {
    let possible = plan.candidates.iter().filter(|candidate| candidate.feasible);
    let section = Section::new("choice", "compared")
        .note(MARKS)
        .with(SectionPart::Table(table(possible)))
        .words(Tone::Quiet, words::COMPUTED_OR_LEAST);
    let section = if plan.candidates.iter().any(|candidate| candidate.feasible) {
        section
    } else {
        Section::new("choice", "")
    };
    [section, why_not(&plan.candidates)]
}

/// Returns all that was compared, with its picture; where wire and passes were given, what else could be taken.
pub(super) fn beside(plan: &Plan, alternatives: &Alternatives, picture: Option<String>) -> Section {
    let chosen_from = &plan.candidates;
    let is_chosen = !chosen_from.is_empty();
    let all = if is_chosen {
        chosen_from
    } else {
        &alternatives.candidates
    };
    let title = if is_chosen {
        "how wire and passes were chosen"
    } else {
        "what else could be taken"
    };
    if all.is_empty() {
        return Section::new("choice", title);
    }
    // What another one beats in everything is no choice.
    let worth = |candidate: &&Candidate| is_chosen || candidate.chosen || candidate.non_dominated;
    let given = if is_chosen {
        ""
    } else {
        "Wire and passes were given: the marked one. In the table stand those that no other one beats in time, cost, finish and accuracy \
         at once. "
    };
    let told = message!(
        "{}{} compared. {}",
        given,
        counted(all.len(), "combination"),
        words::COMPUTED_OR_LEAST
    );
    let layout = if picture.is_some() {
        SectionLayout::Across
    } else {
        SectionLayout::Flowing
    };
    let section = Section::new("choice", title)
        .layout(layout)
        .words(Tone::Quiet, told);
    let section = section.with_picture(picture);
    section.with(SectionPart::Table(table(all.iter().filter(worth))))
}

/// Returns the sections of a comparison.
pub(super) fn compared(comparison: &Comparison) -> Vec<Section> {
    let minutes = |candidate: &Candidate| {
        let totals = candidate.totals;
        totals.map_or(f64::INFINITY, |totals| totals.order_minutes.expected)
    };
    let mut feasible: Vec<&Candidate> = comparison.candidates.iter().filter(|c| c.feasible).collect();
    feasible.sort_by(|a, b| {
        let marks = |candidate: &Candidate| (!candidate.chosen, !candidate.non_dominated);
        marks(a).cmp(&marks(b)).then(minutes(a).total_cmp(&minutes(b)))
    });
    let mut sections = vec![if feasible.is_empty() {
        nearest(comparison.nearest.as_ref())
    } else {
        Section::new("choice", "expected to reach the requirement, after gauging")
            .note(message!("{}; cost in {}", MARKS, comparison.currency))
            .with(SectionPart::Table(table(feasible)))
            .words(Tone::Quiet, words::COMPUTED_OR_LEAST)
    }];
    sections.extend(comparison.chosen.as_ref().map(verified));
    sections.push(why_not(&comparison.candidates));
    sections
}

fn table<'a>(candidates: impl IntoIterator<Item = &'a Candidate>) -> ViewTable {
    use UnitSymbol::{Min, Mm, Same, Um, UmOfRoughness};
    type Row = Candidate;
    let columns = vec![
        ColumnOf::words("", |row: &&Row| mark(row)),
        ColumnOf::name("wire", |row: &&Row| words::wire(row.wire_mm, &row.wire_kind)),
        ColumnOf::words("machine", |row: &&Row| row.machine.as_str()),
        ColumnOf::number("passes", Same(""), |row: &&Row| words::passes(row)),
        ColumnOf::number("piece", Min, |row: &&Row| {
            at_least(row, row.totals.map(|totals| totals.piece_minutes))
        }),
        ColumnOf::number("order", Min, |row: &&Row| {
            at_least(row, row.totals.map(|totals| totals.order_minutes))
        }),
        ColumnOf::number("order cost", Same(""), |row: &&Row| {
            at_least(row, row.totals.map(|totals| totals.cost_order))
        }),
        ColumnOf::number("Ra", UmOfRoughness, |row: &&Row| {
            row.ra_um.map(|band| roughness_um(band.expected).fixed(2))
        }),
        ColumnOf::number("± {} on size", Um, |row: &&Row| {
            row.accuracy_um.map(|error_um| um(error_um).fixed(1))
        }),
        ColumnOf::number("inside radius", Mm, |row: &&Row| {
            row.min_inside_radius_mm.map(|radius| mm(radius).fixed(3))
        })
        .on(Outlet::TERMINAL),
        ColumnOf::number("unreached", Um, |row: &&Row| {
            row.unreached_um.map(|left_um| um(left_um).fixed(1))
        })
        .on(Outlet::TERMINAL),
        ColumnOf::words("why rejected", |row: &&Row| shortfalls_in_words(&row.reasons)).on(Outlet::JOB_SHEET),
    ];
    ViewTable::new(columns, candidates, (40, 60))
}

/// Says what a candidate comes to, in a sentence.
pub(in crate::report) fn candidate_in_short(plan: &Plan, candidate: &Candidate) -> Message {
    let costs = plan.estimate.costs.as_ref();
    let currency = costs.map_or("", |costs| costs.currency.as_str());
    let money = |cost: Band| message!("order {} {}", of_unit(cost, "").fixed(2).range_first(), currency);
    let parts = [
        Some(message!(
            "{}, passes {}",
            on_machine(candidate),
            words::passes(candidate)
        )),
        candidate
            .totals
            .map(|totals| message!("order {}", minutes(totals.order_minutes).fixed(1))),
        candidate.totals.map(|totals| money(totals.cost_order)),
        candidate
            .ra_um
            .map(|ra_um| message!("Ra {}", roughness_um(ra_um.expected).fixed(2))),
        candidate
            .accuracy_um
            .map(|error_um| message!("size off by up to {}", um(error_um).fixed(1))),
    ];
    let said = Message::joined(parts.into_iter().flatten(), ", ");
    if candidate.reasons.is_empty() {
        return said;
    }
    message!("{}; lacks: {}", said, shortfalls_in_words(&candidate.reasons))
}

const fn mark(candidate: &Candidate) -> &'static str {
    match (candidate.chosen, candidate.non_dominated) {
        (true, true) => ">*",
        (true, false) => ">",
        (false, true) => "*",
        (false, false) => "",
    }
}

/// Writes what is expected; of an estimate, that it is the least.
fn at_least(candidate: &Candidate, band: Option<Band>) -> ViewCell {
    let words = |band: Band| {
        message!(
            "{}{}",
            words::at_least(candidate.basis),
            of_unit(band.expected, "").fixed(0)
        )
    };
    band.map(words).into()
}

/// Returns the candidate that comes nearest, and what it misses.
fn nearest(near: Option<&Candidate>) -> Section {
    let section = Section::new("choice", "nothing in the shop data reaches the requirement");
    let Some(near) = near else {
        return section.words(Tone::Plain, "no wire and machine of the shop data can cut it");
    };
    let missing = near
        .reasons
        .iter()
        .map(|reason| message!("missing: {}", reason.message()));
    section
        .words(
            Tone::Plain,
            message!("nearest: {}, passes {}", on_machine(near), words::passes(near)),
        )
        .with(SectionPart::List(missing.collect()))
}

/// What the paths of the chosen one say.
fn verified(plan: &Plan) -> Section {
    let section = Section::new("verified", "the chosen one, offset and verified");
    let section = if plan.toolpaths.refusals.is_empty() {
        let within = um_of_mm(crate::tolerance::PATH_MM).at_most(1);
        section.words(
            Tone::Plain,
            message!("every path is verified to be within {} of its offset", within),
        )
    } else {
        let refused = counted(plan.toolpaths.refusals.len(), "path");
        section.words(Tone::Alarm, message!("{} refused: the plan says where", refused))
    };
    let left = plan.toolpaths.unreached.iter().map(|place| place.deviation_mm);
    let left = left
        .max_by(f64::total_cmp)
        .map_or_else(Message::default, |left_mm| {
            message!(
                "up to {} stay where the wire does not reach",
                um_of_mm(left_mm).at_most(1)
            )
        });
    let takes = plan.estimate.totals().map_or_else(Message::default, |totals| {
        message!(
            "{} takes {} at the machine, the order with its set-ups {}",
            words::drawn(plan),
            super::estimate::duration(totals.machine_minutes),
            super::estimate::duration(totals.order_minutes)
        )
    });
    section
        .words(Tone::Plain, left)
        .words(Tone::Plain, takes)
        .words(Tone::Strong, words::confidence(plan.estimate.confidence))
}

/// Why combinations are not feasible: of neighbouring numbers of passes the one that is nearest, wires with the same
/// reason together.
fn why_not(candidates: &[Candidate]) -> Section {
    const MOST: usize = 40;
    let means = |c: &Candidate| (c.wire_mm.to_bits(), c.wire_kind.clone(), c.machine.clone());
    let mut short: Vec<&Candidate> = candidates.iter().filter(|c| !c.feasible).collect();
    short.sort_by(|a, b| means(a).cmp(&means(b)).then(a.passes.cmp(&b.passes)));
    let together = |a: &&Candidate, b: &&Candidate| {
        means(a) == means(b) && a.possible == b.possible && b.passes <= a.passes + 1
    };
    let one_machine = candidates
        .windows(2)
        .all(|pair| pair[0].machine == pair[1].machine);
    let named = |candidate: &Candidate| {
        if one_machine {
            words::wire(candidate.wire_mm, &candidate.wire_kind)
        } else {
            on_machine(candidate)
        }
    };
    let mut reasons: Vec<(Message, Vec<Message>)> = Vec::new();
    for run in short.chunk_by(together) {
        let nearest = run.iter().min_by(|a, b| a.shortfall.total_cmp(&b.shortfall));
        let (Some(first), Some(last), Some(nearest)) = (run.first(), run.last(), nearest) else {
            continue;
        };
        let passes = match (words::passes(first), words::passes(last)) {
            (first, last) if first == last => first,
            (first, last) => format!("{first} to {last}"),
        };
        let why = message!("passes {}: {}", passes, shortfalls_in_words(&nearest.reasons));
        match reasons.iter_mut().find(|(known, _)| *known == why) {
            // Its other numbers of passes may lie between and lack something else.
            Some((_, names)) if names.contains(&named(nearest)) => {}
            Some((_, names)) => names.push(named(nearest)),
            None => reasons.push((why, vec![named(nearest)])),
        }
    }
    let items = reasons
        .into_iter()
        .map(|(why, names)| message!("{}; {}", Message::joined(names, ", "), why));
    Section::new("why-not", "why rejected").with(SectionPart::list_of(items, MOST))
}

fn on_machine(candidate: &Candidate) -> Message {
    message!(
        "{} on {}",
        words::wire(candidate.wire_mm, &candidate.wire_kind),
        candidate.machine
    )
}

/// Returns what would make the expected error smaller, where that was tried.
pub(super) fn what_helps(plan: &Plan) -> Section {
    let section = Section::new("remedies", "to reduce the expected error");
    let Some(remedies) = &plan.remedies else {
        return section;
    };
    let section = section.note("tried on this plan; its own cost left aside");
    if remedies.is_empty() {
        return section.words(Tone::Plain, message!("nothing that was tried brings {}", um(0.5)));
    }
    let costs = plan.estimate.costs.as_ref();
    let currency = costs.map_or("", |costs| costs.currency.as_str());
    let pairs = remedies.iter().map(|remedy| {
        let reaches = if remedy.reaches {
            ", all that is called for is expected to be reached, gauged"
        } else {
            ""
        };
        let sign = if remedy.cost_more < 0.0 { "−" } else { "+" };
        Pair::new(
            words::remedy(&remedy.kind),
            message!(
                "{} less, ±{}; order {}{} {}{}",
                um(remedy.brings_um).fixed(1),
                um(remedy.error_um).fixed(1),
                sign,
                fixed(remedy.cost_more.abs(), 0),
                currency,
                reaches
            ),
        )
    });
    section.with(SectionPart::Pairs(pairs.collect()))
}
