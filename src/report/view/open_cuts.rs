//! The open cuts.

use super::frames::{ColumnOf, LONG, Section, SectionPart, Tone, ViewTable};
use crate::job::Purpose;
use crate::message::number::counted;
use crate::message::{Message, UnitSymbol, message, mm, mm2};
use crate::plan::Plan;
use crate::report::words;
use crate::toolpath::{OpenCut, WireLoop};
use crate::units::Band;

/// An open cut with its kerf.
struct OpenCutLine<'a> {
    wire: &'a WireLoop,
    cut: &'a OpenCut,
    kerf_mm: Option<Band>,
}

fn open_cuts(plan: &Plan) -> impl Iterator<Item = OpenCutLine<'_>> {
    let rough = plan.toolpaths.loops.iter().filter(|wire| wire.pass.is_rough());
    rough.filter_map(|wire| {
        Some(OpenCutLine {
            wire,
            cut: wire.open.as_ref()?,
            kerf_mm: plan.kerf_mm(wire),
        })
    })
}

fn purpose_of(plan: &Plan, wire: &WireLoop) -> Purpose {
    plan.inspection.contours[wire.contour].purpose
}

/// Says how wide a kerf is: `0.330 (0.310 to 0.360)`.
fn kerf_in_words(kerf_mm: Band) -> Message {
    message!(
        "{} ({} to {})",
        mm(kerf_mm.expected).fixed(3).bare(),
        mm(kerf_mm.low).fixed(3).bare(),
        mm(kerf_mm.high).fixed(3).bare()
    )
}

/// Returns the open cuts, each with its kerf, its length and what it begins and ends in.
pub(super) fn section(plan: &Plan) -> Section {
    use UnitSymbol::{Mm, Mm2};
    type Row<'a> = OpenCutLine<'a>;
    let section = Section::new("open-cuts", "open cuts");
    let count = open_cuts(plan).count();
    if count == 0 {
        return section;
    }
    let columns = vec![
        ColumnOf::name("contour", |row: &Row<'_>| message!("{}", row.wire.contour)),
        ColumnOf::words("purpose", |row: &Row<'_>| {
            words::purpose(purpose_of(plan, row.wire))
        }),
        ColumnOf::words("kerf", |row: &Row<'_>| row.kerf_mm.map(kerf_in_words)).of_unit(Mm),
        ColumnOf::number("width", Mm, |row: &Row<'_>| {
            row.cut.band.as_ref().map(|band| mm(band.width_mm).fixed(3))
        }),
        ColumnOf::number("in material", Mm, |row: &Row<'_>| mm(row.cut.met_mm).fixed(3)),
        ColumnOf::number("path", Mm, |row: &Row<'_>| mm(row.wire.length_mm).fixed(3)),
        ColumnOf::number("cut off", Mm2, |row: &Row<'_>| {
            row.cut
                .exact_waste()
                .map(|waste| mm2(waste.area().abs()).fixed(3))
        }),
        ColumnOf::words("begins in", |row: &Row<'_>| words::cut_end(row.cut.ends[0])),
        ColumnOf::words("ends in", |row: &Row<'_>| words::cut_end(row.cut.ends[1])),
    ];
    section
        .note(counted(count, "open cut"))
        .with(SectionPart::Table(ViewTable::new(columns, open_cuts(plan), LONG)))
        .words(
            Tone::Plain,
            "Slit: the wire runs on the line, in one pass, and takes half the kerf on each side; where a width is given it runs along both walls, and \
             the rough cut along the middle where that leaves what the skims take; the part may spring. Trim: the wire runs on \
             the side that does not stay, which is taken to be the one that is not clamped. Open cuts come after the contours.",
        )
}

/// Says in short how wide the kerf of the slits is; `None` where there are none.
pub(super) fn in_short(plan: &Plan) -> Option<Message> {
    let mut slits =
        open_cuts(plan).filter(|row| purpose_of(plan, row.wire) == Purpose::Slit && row.cut.band.is_none());
    let kerf = slits.next()?.kerf_mm.map(|kerf_mm| {
        message!(
            ", kerf {} ({} to {})",
            mm(kerf_mm.expected).fixed(3),
            mm(kerf_mm.low).fixed(3).bare(),
            mm(kerf_mm.high).fixed(3)
        )
    });
    Some(message!("{}{}", counted(1 + slits.count(), "slit"), kerf))
}
