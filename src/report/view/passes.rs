//! The passes, and what has no path.

use super::frames::{ColumnOf, LONG, Outlet, Section, SectionPart, Tone, ViewCell, ViewTable};
use crate::check::path_words::{incomplete_sentence, refusal_in_words};
use crate::estimate::CutRow;
use crate::message::number::counted;
use crate::message::{
    Message, UnitSymbol, message, mm, mm_per_min, mm2, mm2_per_min, of_unit, roughness_um, um, um_of_mm,
};
use crate::pass::Pass;
use crate::plan::{GroupPlan, Plan};
use crate::report::words;
use crate::report::words::place;
use crate::toolpath::{PathRefusal, Unreached};

/// A pass of a demand group, with what it cuts.
struct PassInGroup<'a> {
    group: &'a GroupPlan,
    pass: &'a Pass,
    cut: Option<&'a CutRow>,
}

/// Returns the passes, and what has no path.
pub(super) fn section(plan: &Plan) -> Section {
    let known = match plan.gauged_on() {
        Some(date) => message!("offsets gauged on {}", date),
        None => "model offsets: cut and gauge a test piece first".into(),
    };
    Section::new("passes", "passes")
        .note(message!(
            "offset: from the wire's centre to the finished wall; {}",
            known
        ))
        .with(SectionPart::Table(pass_table(plan)))
}

/// Says how far the worst path is off its offset, as the verifier measured it; `None` without a path.
pub(super) fn verified(plan: &Plan) -> Option<Message> {
    let paths = plan.toolpaths.loops.iter().map(|path| path.verified_mm);
    let worst_mm = paths.max_by(f64::total_cmp)?;
    Some(message!(
        "each measured against its contour; the worst is {} off its offset",
        um_of_mm(worst_mm).four(0)
    ))
}

/// One column a line: what it is called, its unit, its value and where it is shown.
pub(in crate::report) fn pass_table(plan: &Plan) -> ViewTable {
    use UnitSymbol::{Min, Mm, Mm2, Mm2PerMin, MmPerMin, Um, UmOfRoughness};
    type Row<'a> = PassInGroup<'a>;
    let has_groups = plan.groups.len() > 1;
    let in_groups = if has_groups { Outlet::WIDE } else { Outlet::NONE };
    let columns = vec![
        ColumnOf::words("path", |row: &Row<'_>| ViewCell::PassLine {
            pass: row.pass.pass,
            of: row.group.passes().len(),
        })
        .on(Outlet::SHEET),
        ColumnOf::name("group", |row: &Row<'_>| message!("{}", row.group.group)).on(in_groups),
        ColumnOf::name("pass", |row: &Row<'_>| message!("{}", row.pass.pass)).on(Outlet::WIDE),
        ColumnOf::name("pass", move |row: &Row<'_>| {
            let group = has_groups.then(|| message!("{}.", row.group.group));
            message!("{}{}", group, row.pass.pass)
        })
        .on(Outlet::SHEET),
        ColumnOf::words("kind", |row: &Row<'_>| words::pass_kind(row.pass.kind)).on(Outlet::WIDE),
        ColumnOf::number("offset", Um, |row: &Row<'_>| {
            um_of_mm(row.pass.offset_mm).at_most(1)
        }),
        ColumnOf::number("spark gap", Um, |row: &Row<'_>| {
            um_of_mm(row.pass.spark_gap_mm).at_most(1)
        }),
        ColumnOf::number("stock", Um, |row: &Row<'_>| {
            um_of_mm(row.pass.stock_mm).at_most(1)
        }),
        ColumnOf::number("area rate", Mm2PerMin, |row: &Row<'_>| {
            mm2_per_min(row.pass.area_rate_mm2_min.expected).fixed(1)
        })
        .on(Outlet::WIDE),
        ColumnOf::number("feed", MmPerMin, |row: &Row<'_>| {
            mm_per_min(row.pass.feed_mm_min.expected).fixed(2)
        }),
        ColumnOf::number("path", Mm, |row: &Row<'_>| {
            row.cut
                .and_then(|cut| cut.path_length_mm)
                .map(|length| mm(length).fixed(4))
        })
        .on(Outlet::WIDE),
        ColumnOf::number("cut area", Mm2, |row: &Row<'_>| {
            row.cut
                .and_then(|cut| cut.cut_area_mm2)
                .map(|area| mm2(area).fixed(1))
        })
        .on(Outlet::JOB_SHEET),
        ColumnOf::number("time", Min, |row: &Row<'_>| {
            row.cut
                .and_then(|cut| cut.minutes)
                .map(|minutes| of_unit(minutes.expected, "min").fixed(1))
        })
        .on(Outlet::WIDE),
        ColumnOf::number("if last, Ra", UmOfRoughness, |row: &Row<'_>| {
            roughness_um(row.pass.ra_um.expected).at_most(2)
        })
        .on(Outlet::WIDE),
        ColumnOf::number("form error, ±", Um, |row: &Row<'_>| {
            um(row.pass.form_error_um.expected).at_most(1)
        })
        .on(Outlet::JOB_SHEET),
    ];
    let rows = plan.groups.iter().flat_map(|group| {
        group.passes().iter().map(move |pass| {
            let mut cuts = plan.estimate.cut.rows.iter();
            let cut = cuts.find(|cut| (cut.group, cut.pass) == (group.group, pass.pass));
            PassInGroup { group, pass, cut }
        })
    });
    // At the machine no offset may be missing.
    ViewTable::new(columns, rows, (LONG.0, usize::MAX))
}

/// Returns what of the work has no path.
pub(super) fn without_path(plan: &Plan) -> Section {
    const MOST: usize = 40;
    // What waits for an answer is told by its question.
    let left_out = plan.toolpaths.left_out();
    let left_out: Vec<Message> = left_out
        .filter(|one| !plan.waits_for_answer(one.contour))
        .map(|one| message!("contour {}: {}", one.contour, incomplete_sentence(*one)))
        .collect();
    let refusals = &plan.toolpaths.refusals;
    let section = Section::new("not-cut", "not cut");
    let section = if left_out.is_empty() {
        section
    } else {
        section
            .words(
                Tone::Alarm,
                message!(
                    "left out: {}; no path, start hole, lead, step, time or cost",
                    counted(left_out.len(), "contour")
                ),
            )
            .with(SectionPart::list_of(left_out, MOST))
    };
    if refusals.is_empty() {
        return section;
    }
    section
        .words(
            Tone::Alarm,
            message!(
                "refused: {}; no total and no price is given",
                counted(refusals.len(), "path")
            ),
        )
        .with(SectionPart::list_of(refusals.iter().map(refused), MOST))
}

fn refused(refusal: &PathRefusal) -> Message {
    message!(
        "contour {}, pass {}, {}: {}",
        refusal.contour,
        refusal.pass,
        place(refusal.at, 4),
        refusal_in_words(refusal.reason)
    )
}

/// Returns the places that the last pass does not reach, the worst first.
pub(super) fn unreached(plan: &Plan) -> Section {
    use UnitSymbol::{Mm, Mm2, Um};
    let mut places: Vec<&Unreached> = plan.toolpaths.unreached.iter().collect();
    places.sort_by(|a, b| b.deviation_mm.total_cmp(&a.deviation_mm));
    let section = Section::new("unreached", "not reached by the last pass");
    if places.is_empty() {
        return section;
    }
    let note = message!(
        "{}, {} in all",
        counted(places.len(), "place"),
        mm2(plan.toolpaths.unreached_area_mm2()).at_most(6)
    );
    let columns = vec![
        ColumnOf::name("contour", |place: &&Unreached| message!("{}", place.contour)),
        ColumnOf::number("x", Mm, |place: &&Unreached| mm(place.at.x).at_most(4)),
        ColumnOf::number("y", Mm, |place: &&Unreached| mm(place.at.y).at_most(4)),
        ColumnOf::number("stays, up to", Um, |place: &&Unreached| {
            um_of_mm(place.deviation_mm).at_most(1)
        }),
        ColumnOf::number("area", Mm2, |place: &&Unreached| mm2(place.area_mm2).at_most(6)),
        ColumnOf::words("kind", |place: &&Unreached| words::unreached(place.kind)),
    ];
    section
        .note(note)
        .with(SectionPart::Table(ViewTable::new(columns, places, (10, 40))))
}
