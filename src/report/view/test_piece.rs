//! The form on which the readings of a test piece are written at the bench.

use super::frames::{ColumnOf, Pair, Section, SectionPart, Tone, ViewTable};
use crate::gauge::{GaugedWall, GaugingPlace, TestPiece};
use crate::message::{Message, UnitSymbol, message, minutes, mm, roughness_um, um_of_mm};
use crate::pass::Pass;
use crate::plan::Plan;
use crate::report::cautions::cautions_in_short;
use crate::report::words;

/// As many rows as there are places.
const ALL: (usize, usize) = (usize::MAX, usize::MAX);

/// Returns the form: what the piece is cut with, where it is gauged, and room for each reading.
pub(in crate::report) fn gauging_form(piece: &TestPiece, plan: &Plan) -> Vec<Section> {
    let request = &piece.request;
    let work = words::work(
        &request.material,
        request.wire_mm,
        request.wire_kind.as_deref().unwrap_or_default(),
    );
    let offsets = piece
        .schedule
        .passes
        .iter()
        .map(|pass| message!("{}", um_of_mm(pass.offset_mm).at_most(1)));
    let time = plan.estimate.time.as_ref();
    let pairs = vec![
        Pair::new(
            "work",
            message!("{}, {} thick", work, mm(request.thickness_mm).at_most(4)),
        ),
        Pair::new("machine", request.machine.as_deref().unwrap_or_default()),
        Pair::new("offsets, pass by pass", Message::joined(offsets, ", ")),
        Pair::new(
            "machine time",
            time.map_or_else(
                || "not known".into(),
                |time| message!("{}", minutes(time.machine_minutes.value).fixed(0)),
            ),
        ),
    ];
    vec![
        Section::new("caution", "caution").words(Tone::Strong, cautions_in_short(plan).join(" ")),
        Section::new("piece", "test piece").with(SectionPart::Pairs(pairs)).with(SectionPart::Blanks(blanks())),
        Section::new("places", "sizes across flats")
            .note("each place three times, taken off and set again; in brackets the contour on the sheet; x and y as the plate lay in the machine; clear of the corner where the wire came in and of the tab stub")
            .with(SectionPart::Table(places(piece, plan))),
        Section::new("surfaces", "surface")
            .note("Ra on a flat of the pin, along the thickness; look at the sharp corners and the inside radius of the openings")
            .with(SectionPart::Table(surfaces(piece))),
    ]
}

fn blanks() -> Vec<Message> {
    let names = [
        "date",
        "gauged by",
        "outside instrument",
        "inside instrument",
        "temperature",
        "wire, first reading",
        "second",
        "third",
        "notes",
    ];
    names.map(Into::into).to_vec()
}

fn places(piece: &TestPiece, plan: &Plan) -> ViewTable {
    type Row = GaugingPlace;
    let blank = |head| ColumnOf::words(head, |_: &Row| "");
    let expected = |head, axis: usize| {
        ColumnOf::number(head, UnitSymbol::Mm, move |row: &Row| {
            mm(row.expected_mm[axis]).fixed(3)
        })
    };
    let columns = vec![
        ColumnOf::name("pass", |row: &Row| message!("{}", row.pass)),
        ColumnOf::words("wall", move |row: &Row| wall_in_words(row, plan)),
        ColumnOf::words("height", |row: &Row| row.height.to_string()),
        expected("x expected", 0),
        blank("x, first"),
        blank("second"),
        blank("third"),
        expected("y expected", 1),
        blank("y, first"),
        blank("second"),
        blank("third"),
    ];
    ViewTable::new(columns, piece.places(), ALL)
}

/// The wall of a place, with the number that its contour has on the sheet.
fn wall_in_words(place: &GaugingPlace, plan: &Plan) -> Message {
    let layer = TestPiece::layer_of(place.wall, place.pass);
    let inspection = &plan.inspection;
    let mut contours = inspection.contours.list.iter();
    let contour = contours.find(|contour| inspection.layer_of(contour) == layer);
    let number = contour.map(|contour| message!(" ({})", contour.id));
    let word = match place.wall {
        GaugedWall::Pin => "pin",
        GaugedWall::Opening => "opening",
    };
    message!("{}{}", word, number)
}

fn surfaces(piece: &TestPiece) -> ViewTable {
    type Row<'a> = &'a Pass;
    let blank = |head| ColumnOf::words(head, |_: &Row<'_>| "");
    let columns = vec![
        ColumnOf::name("pass", |row: &Row<'_>| message!("{}", row.pass)),
        ColumnOf::number("expected Ra", UnitSymbol::UmOfRoughness, |row: &Row<'_>| {
            roughness_um(row.ra_um.expected).fixed(2)
        }),
        blank("first"),
        blank("second"),
        blank("third"),
    ];
    ViewTable::new(columns, &piece.schedule.passes, ALL)
}
