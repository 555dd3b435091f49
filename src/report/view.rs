//! What is shown of a plan, an inspection or a comparison: sections of words, pairs and tables, their quantities typed. Each format sets
//! them in its own way; what is shown, under which name, in which order and how much of it is decided here alone.

mod accuracy;
mod answer;
mod calibration;
mod candidates;
mod contours;
mod day;
mod drift;
mod entries;
mod estimate;
mod findings;
mod frames;
mod gauging;
mod holding;
mod inspection_sheet;
mod open_cuts;
mod order;
mod pages;
mod passes;
mod questions;
mod room;
mod records;
mod requirements;
mod sources;
mod test_piece;
mod title;
mod traces;

pub(super) use answer::{AnswerState, answer};
pub(super) use calibration::learned;
pub(super) use candidates::candidate_in_short;
pub(super) use contours::contour_table;
pub(super) use drift::drifting;
pub(super) use entries::{AlikeFindings, FindingEntry, QuestionEntry};
pub use findings::Coverage;
pub(super) use frames::{
    CellKind, Outlet, Pair, Section, SectionLayout, SectionPart, Tone, ViewCell, ViewColumn, ViewRow,
    ViewTable,
};
pub(super) use gauging::gauged;
pub(super) use inspection_sheet::{MeasuredRow, inspection_sheet, point_columns, size_columns};
pub(super) use pages::{
    FullSheet, SheetPictures, compared, figures_traced, first_on_page, inspected, job_sheet, on_page, planned,
};
pub(super) use passes::pass_table;
pub(super) use records::{RecordCell, RecordColumn, candidate_columns, columns, plain_number};
pub(super) use room::part_in_room;
pub(super) use test_piece::gauging_form;
pub(super) use title::{title_of_inspection, title_of_plan};

#[cfg(test)]
mod tests;
