//! The drawing: how it is read, its contours and their totals.

use std::collections::BTreeMap;

use super::frames::{ColumnOf, LONG, Outlet, Pair, Section, SectionPart, Tone, ViewCell, ViewTable};
use super::questions::question_count;
use crate::contour::Contour;
use crate::job::Purpose;
use crate::message::number::counted;
use crate::message::{Message, UnitSymbol, message, mm, mm2};
use crate::plan::Inspection;
use crate::report::layer_of;
use crate::report::sides::{
    KeptSide, SideSources, kept_side, purpose_with_side, side_source, sizes_in_words,
};
use crate::report::words;

/// Says what the drawing is, how much of it there is, and where the sides come from.
pub(super) fn head(inspection: &Inspection) -> Section {
    let section = Section::new("drawing", inspection.file.as_str()).note(message!(
        "{}, {} to cut, {}",
        counted(inspection.contours.list.len(), "contour"),
        mm(inspection.totals().cut_perimeter_mm).fixed(4),
        question_count(inspection)
    ));
    section
        .words(
            Tone::Plain,
            message!(
                "read in {}, {}",
                inspection.drawing.units.name,
                words::units_source(inspection.drawing.units.source)
            ),
        )
        .words(Tone::Plain, sides(inspection))
}

/// Says where the sides come from; empty where nothing is to be cut.
pub(super) fn sides(inspection: &Inspection) -> Message {
    let sources = SideSources::of(inspection).in_words();
    sources.map_or_else(Message::default, |sources| message!("sides: {}", sources))
}

/// Contours that are read alike: the layer, then the first that differs.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct ReadAlike<'a> {
    layer: &'a str,
    purpose: Purpose,
    purpose_from: &'static str,
    kept: Option<KeptSide>,
    side_from: Option<&'static str>,
}

/// Returns one row for the contours of a layer that are read alike.
pub(super) fn reading(inspection: &Inspection) -> Section {
    use UnitSymbol::Same;
    type Row<'a> = (ReadAlike<'a>, Vec<&'a Contour>);
    let mut groups: BTreeMap<ReadAlike<'_>, Vec<&Contour>> = BTreeMap::new();
    for contour in &inspection.contours.list {
        let alike = ReadAlike {
            layer: layer_of(contour, &inspection.drawing),
            purpose: purpose_with_side(contour),
            purpose_from: words::purpose_source(contour.purpose_from),
            kept: kept_side(contour),
            side_from: side_source(contour).map(words::side_source),
        };
        groups.entry(alike).or_default().push(contour);
    }
    let sizes = |row: &Row<'_>| sizes_in_words(&row.1).unwrap_or_default();
    let columns = vec![
        ColumnOf::name("layer", |row: &Row<'_>| row.0.layer),
        ColumnOf::number("contours", Same(""), |row: &Row<'_>| row.1.len()),
        ColumnOf::words("smallest", move |row: &Row<'_>| sizes(row).0).of_unit(UnitSymbol::Mm),
        ColumnOf::words("largest", move |row: &Row<'_>| {
            if row.1.len() > 1 {
                sizes(row).1
            } else {
                Message::default()
            }
        })
        .of_unit(UnitSymbol::Mm),
        ColumnOf::words("purpose", |row: &Row<'_>| words::purpose(row.0.purpose)),
        ColumnOf::words("from", |row: &Row<'_>| row.0.purpose_from),
        ColumnOf::words("material stays", |row: &Row<'_>| row.0.kept.map(KeptSide::word)),
        ColumnOf::words("side", |row: &Row<'_>| row.0.side_from),
    ];
    Section::new("reading", "reading").with(SectionPart::Table(ViewTable::new(columns, groups, LONG)))
}

/// Returns what was assumed.
pub(super) fn assumed(inspection: &Inspection) -> Section {
    Section::new("assumed", "assumed").with(SectionPart::List(inspection.assumptions.clone()))
}

/// Returns the contours.
pub(super) fn contours(inspection: &Inspection) -> Section {
    let legend = [
        "side: drawn (as the edges around it have it), given, assumed (first reading of a question) or open (a question);",
        "sharp: inside corners without a radius; slot, wall: narrowest place on the wire's side and of the material;",
        "wire: thickest of the book that follows every radius and enters every slot (sharp corners left aside)",
    ];
    let section = Section::new("contours", "contours").with(SectionPart::Table(contour_table(inspection)));
    if section.is_empty() {
        return section;
    }
    legend.into_iter().fold(section, |section, words| {
        section.with_on(Outlet::TERMINAL, SectionPart::Words(Tone::Quiet, words.into()))
    })
}

/// Returns the table of the contours.
pub(in crate::report) fn contour_table(inspection: &Inspection) -> ViewTable {
    use UnitSymbol::{Mm, Mm2, Same};
    type Row = Contour;
    let short_mm = |length_mm: f64| mm(length_mm).at_most(3);
    let columns = vec![
        ColumnOf::name("contour", |row: &&Row| message!("{}", row.id)),
        ColumnOf::words("layer", |row: &&Row| layer_of(row, &inspection.drawing)).on(Outlet::WIDE),
        ColumnOf::words("role", |row: &&Row| words::role(row.role)),
        ColumnOf::words("use", |row: &&Row| words::purpose(purpose_with_side(row))).on(Outlet::WIDE),
        ColumnOf::words("side", |row: &&Row| side_source(row).map(words::side_source)).on(Outlet::WIDE),
        ColumnOf::number("perimeter", Mm, |row: &&Row| mm(row.perimeter_mm).fixed(4)),
        ColumnOf::number("area", Mm2, |row: &&Row| {
            row.polyline.closed.then(|| mm2(row.area_mm2).fixed(4))
        }),
        ColumnOf::number("inside radius", Mm, |row: &&Row| {
            inside_radius(row.min_inside_radius_mm)
        }),
        ColumnOf::number("sharp", Same(""), |row: &&Row| row.sharp_inside_corners.len()).on(Outlet::TERMINAL),
        ColumnOf::number("slot", Mm, move |row: &&Row| {
            row.narrowest_slot.as_deref().map(|slot| short_mm(slot.width_mm))
        })
        .on(Outlet::TERMINAL),
        ColumnOf::number("wall", Mm, move |row: &&Row| {
            row.thinnest_wall.as_deref().map(|wall| short_mm(wall.width_mm))
        })
        .on(Outlet::TERMINAL),
        ColumnOf::number("wire", Mm, move |row: &&Row| {
            inspection.thickest_wire_mm(row).map(short_mm)
        })
        .on(Outlet::TERMINAL),
        ColumnOf::words("size", move |row: &&Row| {
            message!(
                "{} × {}",
                short_mm(row.bounds.width()).bare(),
                short_mm(row.bounds.height()).bare()
            )
        })
        .of_unit(Mm)
        .on(Outlet::TERMINAL),
    ];
    ViewTable::new(columns, &inspection.contours.list, LONG)
}

/// Smallest inside radius: none, sharp or a length.
fn inside_radius(radius_mm: Option<f64>) -> ViewCell {
    match radius_mm {
        None => ViewCell::Unknown,
        Some(0.0) => "sharp".into(),
        Some(radius) => mm(radius).fixed(4).into(),
    }
}

/// Returns what the curves and contours come to, and what was left out of the drawing.
pub(super) fn totals(inspection: &Inspection) -> [Section; 2] {
    const MOST: usize = 40;
    let totals = inspection.totals();
    let pairs = vec![
        Pair::new(
            "all curves as drawn",
            message!("{}", mm(totals.curve_length_mm).fixed(4)),
        ),
        Pair::new(
            "length of cut",
            message!("{}", mm(totals.cut_perimeter_mm).fixed(4)),
        ),
        Pair::new(
            "contours",
            message!(
                "{}, {}",
                counted(totals.closed_contours, "closed contour"),
                counted(totals.open_chains, "open chain")
            ),
        ),
    ];
    let left_out = inspection.drawing.ignored.iter();
    let left_out = left_out.map(|ignored| message!("{} {}: {}", ignored.count, ignored.kind, ignored.reason));
    [
        Section::new("totals", "totals").with(SectionPart::Pairs(pairs)),
        Section::new("ignored", "left out").with(SectionPart::list_of(left_out, MOST)),
    ]
}
