//! JSON, `schema: 1`: the promised fields, in full precision. Fields may be added under the same number; none
//! is renamed, removed or given another meaning.

mod requirement;
mod rest;
mod room;
mod book;
mod calibration;
mod candidate;
mod choices;
mod comparison;
mod drift;
mod estimate;
mod gauging;
mod inspection;
mod inspection_sheet;
mod job;
mod layout;
mod motion;
mod not_cut;
mod open_cut;
mod page;
mod pieces;
mod plan;
mod question;
mod readings;
mod refused;
mod rows;
mod run;
mod schema;
mod sections;
mod separation;

use std::io::{self, Write};

use serde::Serialize;

use crate::calibrate::Calibrated;
use crate::gauge::{Drift, Gauging, RoomDrift};
use crate::job::JobFile;
use crate::message::Lengths;
use crate::plan::{Alternatives, Comparison, Inspection, InspectionSheet, Plan};
use crate::shop::{Book, Listed};
pub use page::{BesideDrawing, Shown};
pub use refused::{NameRow, RefusedAnswer};
pub use schema::{SCHEMAS, Schema};

/// Number of the promised shapes that this module writes.
pub const SCHEMA: u32 = 1;

/// Number of what the page and its server say to one another: both are of one program, and nothing is promised.
pub(super) const PAGE_SCHEMA: u32 = 1;

/// Up to so many bytes a document is laid out for people; a longer one has a line a record.
const LAID_OUT_AT_MOST: usize = 1_000_000;

/// Writes an inspected drawing as JSON, ending in a line feed.
pub fn inspection(inspection: &Inspection) -> String {
    text(&inspection::InspectionDocument::new(inspection))
}

/// As [`inspection`](fn@inspection), row by row.
///
/// # Errors
/// Those of `out`.
pub fn write_inspection(inspection: &Inspection, out: &mut dyn Write) -> io::Result<()> {
    write(&inspection::InspectionDocument::new(inspection), out)
}

/// Writes a plan as JSON, ending in a line feed.
pub fn plan(plan: &Plan) -> String {
    text(&plan::PlanDocument::new(plan))
}

/// As [`plan`](fn@plan), row by row.
///
/// # Errors
/// Those of `out`.
pub fn write_plan(plan: &Plan, out: &mut dyn Write) -> io::Result<()> {
    write(&plan::PlanDocument::new(plan), out)
}

/// Writes a comparison as JSON, ending in a line feed.
pub fn comparison(comparison: &Comparison) -> String {
    text(&comparison::ComparisonDocument::new(comparison))
}

/// Numbers of the book as JSON, ending in a line feed.
pub fn numbers(listed: &[Listed<'_>]) -> String {
    text(&book::NumbersDocument::new(listed))
}

/// What a log has taught as JSON, ending in a line feed.
pub fn calibration(learned: &Calibrated) -> String {
    text(&calibration::CalibrationDocument::new(learned))
}

/// What a gauged test piece says as JSON, ending in a line feed.
pub fn gauging(gauging: &Gauging) -> String {
    text(&gauging::GaugingDocument::new(gauging))
}

/// What the page shows of a gauged test piece, with what goes into the shop's book, as JSON.
pub fn test_piece_on_page(gauging: &Gauging, book: String, lengths: Lengths) -> String {
    text(&readings::ReadingsDocument::of_test_piece(gauging, book, lengths))
}

/// What the page shows of readings on finished walls as JSON.
pub fn walls_on_page(drift: &Drift, lengths: Lengths) -> String {
    text(&readings::ReadingsDocument::of_walls(drift, lengths))
}

/// How finished walls drift off their targets as JSON, ending in a line feed.
pub fn drift(drift: &Drift) -> String {
    text(&drift::DriftDocument::new(drift))
}

/// What of a finished part can be measured as JSON, ending in a line feed.
pub fn inspection_sheet(plan: &Plan, sheet: &InspectionSheet) -> String {
    text(&inspection_sheet::InspectionSheetDocument::new(plan, sheet))
}

/// How the part of a plan moves in its room as JSON, ending in a line feed.
pub fn part_in_room(plan: &Plan, drift: &RoomDrift) -> String {
    text(&room::RoomDocument::new(plan, drift))
}

/// What the page shows, as JSON.
pub fn page(shown: &Shown<'_>, lengths: Lengths, beside: BesideDrawing<'_>) -> String {
    one_line(&page::PageDocument::new(shown, lengths, beside))
}

/// What the page shows of a plan in a second answer, as JSON: what else could have been chosen, and the way of the wire by the
/// clock, where there is one and it is not too long to be shown moving.
pub fn rest_of_page(
    plan: &Plan,
    alternatives: &Alternatives,
    lengths: Lengths,
    pictures: Vec<(&'static str, String)>,
) -> String {
    one_line(&rest::RestDocument::new(plan, alternatives, lengths, pictures))
}

/// What the book lets be asked for, as JSON.
pub fn choices(book: &Book) -> String {
    text(&choices::ChoicesDocument::new(book))
}

/// What a job file asks, as JSON.
pub fn job(job: &JobFile) -> String {
    text(&job::JobDocument::new(job))
}

/// Why the page does not answer, as JSON.
pub fn refused(refused: &RefusedAnswer) -> String {
    text(&refused::RefusedDocument::new(refused))
}

fn text(document: &impl Serialize) -> String {
    in_memory(|bytes| write(document, bytes))
}

/// Writes a document on one line, ending in a line feed.
pub(super) fn one_line(document: &impl Serialize) -> String {
    in_memory(|bytes| serialize(document, layout::OneLine, bytes))
}

fn in_memory(write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> String {
    let mut bytes = Vec::new();
    write(&mut bytes).expect("structs and lists of finite depth can always be written");
    String::from_utf8(bytes).expect("what is written is text")
}

/// Writes a document laid out for people where it is short, else with a line a record.
fn write(document: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    let mut short = ShortText::default();
    match serialize(document, layout::Lines::default(), &mut short) {
        Err(_) if short.is_too_long => serialize(document, layout::Records::default(), out),
        done => done.and_then(|()| out.write_all(&short.bytes)),
    }
}

fn serialize(
    document: &impl Serialize,
    layout: impl serde_json::ser::Formatter,
    out: &mut (impl Write + ?Sized),
) -> io::Result<()> {
    let mut writer = serde_json::Serializer::with_formatter(&mut *out, layout);
    document.serialize(&mut writer)?;
    out.write_all(b"\n")
}

/// Takes as much as is laid out for people.
#[derive(Default)]
struct ShortText {
    bytes: Vec<u8>,
    is_too_long: bool,
}

impl Write for ShortText {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.is_too_long = self.bytes.len() + bytes.len() > LAID_OUT_AT_MOST;
        if self.is_too_long {
            return Err(io::ErrorKind::FileTooLarge.into());
        }
        self.bytes.extend(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use crate::report::sample;

    #[test]
    fn inspection_keeps_its_promised_fields() {
        let mut plate = sample::plate();
        plate.findings = vec![sample::finding()];
        let text = super::inspection(&plate);
        let value: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["schema"], 1);
        assert_eq!(value["file"], "plate.dxf");
        assert_eq!(
            value["units"],
            json!({ "name": "mm", "factor_to_mm": 1.0, "source": "drawing" })
        );
        let opening = &value["contours"][1];
        assert_eq!(opening["role"], "opening");
        assert_eq!(opening["use"], "cut");
        assert_eq!(opening["parent"], 1);
        assert_eq!(opening["layer"], "CUT");
        assert_eq!(opening["bbox_mm"], json!([15.0, 5.0, 25.0, 15.0]));
        // Full precision: what is read back is the same number.
        assert_eq!(
            opening["perimeter_mm"].as_f64().unwrap(),
            plate.contours.list[1].perimeter_mm
        );
        assert_eq!(value["totals"]["closed_contours"], 2);
        assert_eq!(value["ignored"][0]["type"], "TEXT");
        let finding = &value["findings"][0];
        assert_eq!(finding["severity"], "error");
        assert_eq!(finding["at_mm"], json!([40.0, 20.0]));
        assert_eq!(finding["measured"], json!({ "value": 0.3, "unit": "mm" }));
        assert_eq!(finding["entities"], json!(["2F"]));
        assert_eq!(text, super::inspection(&plate), "same input, same bytes");
    }

    #[test]
    fn openings_come_before_what_they_sit_in() {
        let plan = sample::plan();
        let steps = plan.sequence();
        let cut = steps.iter().filter(|step| step.kind.is_cutting());
        let order: Vec<(usize, usize)> = cut
            .map(|step| (step.contour.number(), step.pass.number()))
            .collect();
        assert_eq!(
            order,
            [(2, 1), (2, 2), (2, 3), (2, 4), (1, 1), (1, 2), (1, 3), (1, 4)]
        );
    }
}
