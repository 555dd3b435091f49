//! What of a finished part is to be measured: on paper with room for the readings, and as rows that go back into a log of readings.

use super::frames::{ColumnOf, Outlet, Section, SectionLayout, SectionPart, Tone, ViewTable};
use super::records::{RecordCell, RecordColumn, columns, plain_number};
use crate::gauge::{DriftRecipe, GaugedSize, NotProbed, PointsLeftOut, ProbePoint, kind_word};
use crate::message::number::counted;
use crate::message::{Message, UnitSymbol, message, mm, um};
use crate::plan::{InspectionSheet, Plan};
use crate::report::cautions::IN_SHORT;
use crate::report::drift_words::recipe_in_words;
use crate::report::words;
use crate::units::Feature;

/// Sizes on the first page, below the picture, and on each further one.
const ROWS_ON_FIRST: usize = 10;
const ROWS_A_PAGE: usize = 34;

/// Most contours and reasons of points that are left out.
const LEFT_OUT_LISTED: usize = 40;

/// A row of what is measured, with what the wall was cut with.
pub(in crate::report) struct MeasuredRow<T> {
    pub(in crate::report) of: T,
    pub(in crate::report) recipe: DriftRecipe,
    pub(in crate::report) offset_mm: Option<f64>,
}

/// Returns the inspection sheet of a part; `picture` shows it.
pub(in crate::report) fn inspection_sheet(
    plan: &Plan,
    sheet: &InspectionSheet,
    picture: Option<String>,
) -> Vec<Section> {
    let (first, further) = sheet.sizes.split_at(sheet.sizes.len().min(ROWS_ON_FIRST));
    let mut sections = vec![
        head(plan, sheet),
        Section::new("sizes", "sizes")
            .with_picture(picture)
            .with_on(Outlet::TERMINAL, sizes(&sheet.sizes, 1))
            .with_on(Outlet::JOB_SHEET, sizes(first, 1)),
    ];
    // On a terminal they are one table.
    for (page, rows) in further.chunks(ROWS_A_PAGE).enumerate() {
        let from = ROWS_ON_FIRST + page * ROWS_A_PAGE + 1;
        let title = message!("sizes {} to {}", from, from + rows.len() - 1);
        let section = Section::new(format!("sizes-{from}"), title).layout(SectionLayout::PageTop);
        sections.push(section.with_on(Outlet::JOB_SHEET, sizes(rows, from)));
    }
    sections.extend([points(sheet), notes(sheet)]);
    sections
}

fn head(plan: &Plan, sheet: &InspectionSheet) -> Section {
    let blanks = [
        "piece",
        "date",
        "measured by",
        "instrument",
        "temperature of the part, °C",
        "order number",
    ];
    Section::new("part", plan.inspection.file.as_str())
        .note(recipe_in_words(sheet.recipe()))
        .with(SectionPart::Blanks(blanks.map(Into::into).to_vec()))
}

fn sizes(rows: &[GaugedSize], from: usize) -> SectionPart {
    const ALL: (usize, usize) = (40, usize::MAX);
    type Row<'a> = (usize, &'a GaugedSize);
    let columns = vec![
        ColumnOf::name("no.", |row: &Row<'_>| row.0),
        ColumnOf::words("size", |row: &Row<'_>| row.1.name.as_str()),
        ColumnOf::number("alike", UnitSymbol::Same(""), |row: &Row<'_>| row.1.alike),
        ColumnOf::words("side", |row: &Row<'_>| kind_word(row.1.feature)),
        ColumnOf::number("drawn", UnitSymbol::Mm, |row: &Row<'_>| {
            mm(row.1.nominal_mm).fixed(4)
        }),
        ColumnOf::number("target", UnitSymbol::Mm, |row: &Row<'_>| {
            mm(row.1.target_mm).fixed(4)
        }),
        ColumnOf::number("lower limit", UnitSymbol::Mm, |row: &Row<'_>| {
            row.1.limits_mm.map(|[lower_mm, _]| mm(lower_mm).fixed(4))
        }),
        ColumnOf::number("upper limit", UnitSymbol::Mm, |row: &Row<'_>| {
            row.1.limits_mm.map(|[_, upper_mm]| mm(upper_mm).fixed(4))
        }),
        ColumnOf::number("as modelled ±", UnitSymbol::Um, |row: &Row<'_>| {
            row.1.modelled_um.map(|off_um| um(off_um).fixed(1))
        }),
        ColumnOf::number("after gauging ±", UnitSymbol::Um, |row: &Row<'_>| {
            row.1.gauged_um.map(|off_um| um(off_um).fixed(1))
        }),
        ColumnOf::words("measured", |_: &Row<'_>| "").on(Outlet::JOB_SHEET),
        ColumnOf::words("again", |_: &Row<'_>| "").on(Outlet::JOB_SHEET),
    ];
    SectionPart::Table(ViewTable::new(columns, (from..).zip(rows), ALL))
}

fn points(sheet: &InspectionSheet) -> Section {
    let ProbePlaces { ball, spacing } = ProbePlaces::of(sheet);
    let told = message!(
        "{} for a measuring machine, at most {} apart, ball {}",
        counted(sheet.points.len(), "point"),
        spacing,
        ball
    );
    let left_out = sheet.left_out.iter().map(left_out_in_words);
    Section::new("points", "points")
        .words(Tone::Plain, told)
        .with(SectionPart::list_of(left_out, LEFT_OUT_LISTED))
}

/// How points are laid, as printed.
struct ProbePlaces {
    ball: Message,
    spacing: Message,
}

impl ProbePlaces {
    fn of(sheet: &InspectionSheet) -> Self {
        Self {
            ball: message!("{}", mm(sheet.probe.ball_mm)),
            spacing: message!("{}", mm(sheet.probe.spacing_mm)),
        }
    }
}

fn left_out_in_words(left: &PointsLeftOut) -> Message {
    let reason = match left.reason {
        NotProbed::WithoutPath => "it has no path of its last pass",
        NotProbed::NotReached => "the wire does not reach there",
        NotProbed::TabStub => "the stub of the tab or the last stretch stands there",
        NotProbed::LeadWitness => "the lead leaves its witness there",
        NotProbed::BallTouchesElsewhere => "the ball would touch another wall first",
    };
    message!(
        "contour {}: {} left out, {}; the first at {}",
        left.contour,
        counted(left.count, "point"),
        reason,
        words::place(left.at, 4)
    )
}

fn notes(sheet: &InspectionSheet) -> Section {
    let mut notes: Vec<Message> = [
        "drawn: as the drawing has it; target: what the offsets aim at, in the middle of one-sided limits; as modelled and after gauging: the expected \
         error of the size, k = 2",
        "part: too much material makes the size larger; opening: smaller. Sizes hold at 20 °C (ISO 1): let the part reach the room first",
        "points: the deviation along the normal, out of the material; above 0 is too much material",
        "deburr, and wipe off recast dust; a model estimate is no acceptance: confirm by measuring",
    ]
    .map(Message::from)
    .to_vec();
    if !sheet.without_sizes.is_empty() {
        notes.push(message!(
            "no size is told of {}: measure what the print calls for",
            words::contour_words(&sheet.without_sizes)
        ));
    }
    Section::new("notes", "notes")
        .with(SectionPart::List(notes))
        .with_on(
            Outlet::JOB_SHEET,
            SectionPart::Words(Tone::Strong, IN_SHORT.join(" ").into()),
        )
}

fn text(words: Option<&str>) -> RecordCell {
    words.map_or(RecordCell::Empty, |words| {
        RecordCell::Text(words.to_owned().into())
    })
}

fn length(of: impl Into<Option<f64>>, decimals: usize) -> RecordCell {
    of.into().map(|value_mm| mm(value_mm).fixed(decimals)).into()
}

fn count(count: usize) -> RecordCell {
    RecordCell::Word(count.to_string())
}

type SizeRow<'a> = MeasuredRow<&'a GaugedSize>;
type PointRow<'a> = MeasuredRow<&'a ProbePoint>;

/// Returns the columns of the sizes: a row with its reading typed in is a row of a log of readings.
pub(in crate::report) fn size_columns<'a>() -> [RecordColumn<SizeRow<'a>>; 20] {
    columns! {
        "feature": |row| text(Some(&row.of.name));
        "kind": |row| RecordCell::Word(kind_word(row.of.feature).to_owned());
        "walls": |row| count(row.of.walls);
        "alike": |row| count(row.of.alike);
        "nominal_mm": |row| length(row.of.nominal_mm, 4);
        "target_mm": |row| length(row.of.target_mm, 5);
        "lower_limit_mm": |row| length(row.of.limits_mm.map(|[lower_mm, _]| lower_mm), 4);
        "upper_limit_mm": |row| length(row.of.limits_mm.map(|[_, upper_mm]| upper_mm), 4);
        "modelled_um": |row| row.of.modelled_um.map(|off_um| um(off_um).fixed(2)).into();
        "gauged_um": |row| row.of.gauged_um.map(|off_um| um(off_um).fixed(2)).into();
        "measured_mm": |_| RecordCell::Empty;
        "date": |_| RecordCell::Empty;
        "piece": |_| RecordCell::Empty;
        "offset_mm": |row| length(row.offset_mm, 5);
        "material": |row| text(row.recipe.material.as_deref());
        "thickness_mm": |row| length(row.recipe.thickness_mm, 4);
        "wire_mm": |row| length(row.recipe.wire_mm, 4);
        "wire_kind": |row| text(row.recipe.wire_kind.as_deref());
        "machine": |row| text(row.recipe.machine.as_deref());
        "passes": |row| row.recipe.passes.map_or(RecordCell::Empty, count);
    }
}

/// Returns the columns of the points: `target_mm` and `measured_mm` are deviations along the normal, so that a row with its reading typed in
/// is one of a log of readings on one wall.
pub(in crate::report) fn point_columns<'a>() -> [RecordColumn<PointRow<'a>>; 20] {
    columns! {
        "feature": |row| RecordCell::Word(format!("{} point {}", row.of.contour, row.of.number));
        "kind": |_| RecordCell::Word(kind_word(Feature::Shaft).to_owned());
        "walls": |_| count(1);
        "x_mm": |row| length(row.of.at.x, 6);
        "y_mm": |row| length(row.of.at.y, 6);
        "normal_x": |row| plain_number(Some(row.of.normal[0]), 9);
        "normal_y": |row| plain_number(Some(row.of.normal[1]), 9);
        "center_x_mm": |row| length(row.of.center.x, 6);
        "center_y_mm": |row| length(row.of.center.y, 6);
        "target_mm": |row| length(row.of.target_mm, 5);
        "measured_mm": |_| RecordCell::Empty;
        "date": |_| RecordCell::Empty;
        "piece": |_| RecordCell::Empty;
        "offset_mm": |row| length(row.offset_mm, 5);
        "material": |row| text(row.recipe.material.as_deref());
        "thickness_mm": |row| length(row.recipe.thickness_mm, 4);
        "wire_mm": |row| length(row.recipe.wire_mm, 4);
        "wire_kind": |row| text(row.recipe.wire_kind.as_deref());
        "machine": |row| text(row.recipe.machine.as_deref());
        "passes": |row| row.recipe.passes.map_or(RecordCell::Empty, count);
    }
}
