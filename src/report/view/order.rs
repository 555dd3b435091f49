//! What drops, where the wire is threaded, and the order of cutting.

use std::collections::HashMap;

use super::frames::{ColumnOf, Outlet, SHORT, Section, SectionLayout, SectionPart, Tone, ViewTable};
use crate::id::ContourId;
use crate::message::number::counted;
use crate::message::{Lengths, Message, UnitSymbol, message, mm, of_unit};
use crate::plan::{OperationRow, Plan};
use crate::process::{Leads, Separation, Start};
use crate::report::{pieces, steps, words};

/// Pieces that drop alike.
struct PiecesAlike<'a> {
    contours: Vec<ContourId>,
    separation: &'a Separation,
}

impl PiecesAlike<'_> {
    fn removal(&self) -> Message {
        if self.contours.len() == 1 {
            pieces::removal(self.separation)
        } else {
            pieces::removal_of_each(self.separation)
        }
    }
}

/// Returns what drops, the heaviest first.
pub(super) fn drops(plan: &Plan) -> Section {
    use UnitSymbol::Mm;
    type Row<'a> = PiecesAlike<'a>;
    let section = Section::new("pieces", "slugs and parts that drop");
    let separations = &plan.process.separations;
    if separations.is_empty() {
        return section;
    }
    let columns = vec![
        ColumnOf::name("contour", |row: &Row<'_>| words::contour_words(&row.contours)),
        ColumnOf::words("piece", |row: &Row<'_>| pieces::kind(row.separation.piece.kind)),
        ColumnOf::number("mass", UnitSymbol::Same(""), |row: &Row<'_>| {
            pieces::about_mass(row.separation)
        }),
        ColumnOf::number("largest size", Mm, |row: &Row<'_>| {
            mm(row.separation.piece.across_mm).fixed(3)
        }),
        ColumnOf::words("caution", |row: &Row<'_>| pieces::caution(row.separation)).on(Outlet::JOB_SHEET),
        ColumnOf::words("how it drops", |row: &Row<'_>| {
            match pieces::caution(row.separation) {
                "" => row.removal(),
                caution => message!("{}; {}", row.removal(), caution),
            }
        })
        .on(Outlet::TERMINAL),
        ColumnOf::words("how it drops", PiecesAlike::removal).on(Outlet::JOB_SHEET),
    ];
    section
        .note(counted(separations.len(), "piece"))
        .with(SectionPart::Table(ViewTable::new(
            columns,
            alike(separations),
            (10, 200),
        )))
}

/// Gathers pieces that drop alike, the heaviest first.
fn alike(separations: &[Separation]) -> Vec<PiecesAlike<'_>> {
    let mut rows: Vec<PiecesAlike<'_>> = Vec::new();
    let mut known: HashMap<[String; 4], usize> = HashMap::new();
    for separation in separations {
        let said = [
            pieces::about_mass(separation),
            mm(separation.piece.across_mm).fixed(3).written(Lengths::Mm),
            pieces::removal_of_each(separation).to_string(),
            pieces::caution(separation).to_owned(),
        ];
        let at = *known.entry(said).or_insert_with(|| {
            rows.push(PiecesAlike {
                contours: Vec::new(),
                separation,
            });
            rows.len() - 1
        });
        rows[at].contours.push(separation.piece.contour);
    }
    rows.sort_by(|a, b| b.separation.piece.mass_kg.total_cmp(&a.separation.piece.mass_kg));
    rows
}

/// A start, with its leads.
struct StartWithLeads<'a> {
    start: &'a Start,
    leads: &'a Leads,
}

type StartColumn<'a> = ColumnOf<'a, StartWithLeads<'a>>;

/// Most start holes that stand at the set-up.
const AT_SET_UP: usize = 20;

/// Returns where the wire is threaded, and where each place comes from.
pub(super) fn starts(plan: &Plan) -> Section {
    use UnitSymbol::Mm;
    type Row<'a> = StartWithLeads<'a>;
    let list = &plan.process.starts.list;
    let section = Section::new("starts", "start holes");
    if list.is_empty() {
        return section;
    }
    let mut columns = start_columns();
    columns.extend([
        ColumnOf::number("lead-in", Mm, |row: &Row<'_>| {
            mm(row.leads.lead_in.length()).fixed(3)
        }),
        ColumnOf::words("shorter", |row: &Row<'_>| steps::shorter(row.start)),
        ColumnOf::number("clearance", Mm, |row: &Row<'_>| {
            mm(row.start.clearance_mm).fixed(3)
        })
        .on(Outlet::JOB_SHEET),
        ColumnOf::number("needed", Mm, |row: &Row<'_>| {
            mm(row.start.required_clearance_mm).fixed(3)
        })
        .on(Outlet::JOB_SHEET),
        ColumnOf::number("overlap", Mm, |row: &Row<'_>| mm(row.leads.overlap_mm).fixed(2))
            .on(Outlet::JOB_SHEET),
    ]);
    section
        .note(drilled(plan))
        .with_on(
            Outlet::JOB_SHEET,
            SectionPart::Words(
                Tone::Quiet,
                "Clearance: from the middle of the hole to the nearest wall, as far as it is needed. Needed: half the hole, the drift of its \
                 drill over the thickness, and the clearance of the shop data."
                    .into(),
            ),
        )
        .with(SectionPart::Table(ViewTable::new(columns, with_leads(plan), SHORT)))
}

/// Returns the start holes that have room at the set-up, and where the others stand.
pub(super) fn starts_at_set_up(plan: &Plan) -> (ViewTable, Message) {
    let list = &plan.process.starts.list;
    let table = ViewTable::new(
        start_columns(),
        with_leads(plan).take(AT_SET_UP),
        (AT_SET_UP, AT_SET_UP),
    );
    let rest = (list.len() > AT_SET_UP).then(|| message!("all {} on the list of start holes", list.len()));
    (table, rest.unwrap_or_default())
}

/// Returns all start holes where they have no room at the set-up.
pub(super) fn starts_beyond_set_up(plan: &Plan) -> Section {
    const ALL: (usize, usize) = (AT_SET_UP, 400);
    let section = Section::new("start-list", "list of start holes").layout(SectionLayout::Office);
    if plan.process.starts.list.len() <= AT_SET_UP {
        return section;
    }
    section
        .note(drilled(plan))
        .with(SectionPart::Table(ViewTable::new(
            start_columns(),
            with_leads(plan),
            ALL,
        )))
}

/// Says how many start holes are to be drilled.
fn drilled(plan: &Plan) -> Message {
    let drilled = plan.process.starts.list.iter().filter(|start| start.drilled);
    message!("{} to drill", counted(drilled.count(), "hole"))
}

fn start_columns<'a>() -> Vec<StartColumn<'a>> {
    use UnitSymbol::Mm;
    type Row<'a> = StartWithLeads<'a>;
    vec![
        ColumnOf::name("contour", |row: &Row<'_>| message!("{}", row.start.contour)),
        ColumnOf::number("x", Mm, |row: &Row<'_>| mm(row.start.at.x).at_most(4)),
        ColumnOf::number("y", Mm, |row: &Row<'_>| mm(row.start.at.y).at_most(4)),
        ColumnOf::number("hole", Mm, |row: &Row<'_>| {
            row.start.hole_mm.map(|hole_mm| mm(hole_mm).fixed(2))
        }),
        ColumnOf::words("drawn, given or proposed", |row: &Row<'_>| {
            steps::origin(row.start.origin)
        }),
    ]
}

fn with_leads(plan: &Plan) -> impl Iterator<Item = StartWithLeads<'_>> {
    plan.process.starts.list.iter().map(|start| StartWithLeads {
        start,
        leads: &plan.process.leads[start.wire_loop.index()],
    })
}

/// Returns the order of cutting with its clock.
pub(super) fn order(plan: &Plan, rows: &[OperationRow]) -> Section {
    use UnitSymbol::{Min, Mm};
    let section = Section::new("steps", "order of cutting");
    if rows.is_empty() {
        return section;
    }
    let columns = vec![
        ColumnOf::name("steps", |row: &&OperationRow| steps::numbers(row)),
        ColumnOf::words("contour", |row: &&OperationRow| {
            words::contour_words(&row.contours)
        }),
        ColumnOf::number("start", Min, |row: &&OperationRow| {
            of_unit(row.clock_minutes, "min").fixed(1)
        }),
        ColumnOf::number("duration", Min, |row: &&OperationRow| {
            of_unit(row.takes_minutes, "min").fixed(1)
        }),
        ColumnOf::number("path", Mm, |row: &&OperationRow| mm(row.length_mm).fixed(3)).on(Outlet::JOB_SHEET),
        ColumnOf::words(
            "operator",
            |row: &&OperationRow| if row.attended { "attended" } else { "" },
        ),
        ColumnOf::words("what", |row: &&OperationRow| steps::row_words(plan, row)),
    ];
    let clock = if words::no_totals(plan).is_some() {
        "The clock begins after the set-up and runs over what stands here: its end is no total;"
    } else {
        "The clock begins after the set-up and ends with the expected machine time;"
    };
    section
        .note(steps::summary(plan))
        .with_on(
            Outlet::JOB_SHEET,
            SectionPart::Words(
                Tone::Quiet,
                message!(
                    "{} what engagement, corners and wire breaks cost is in it, in proportion. Contours that are cut alike, one after the \
                     other, share their rows.",
                    clock
                ),
            ),
        )
        .with(SectionPart::Table(ViewTable::new(columns, rows, SHORT)))
}
