//! Computes answers from a drawing and its job.

use bytes::Bytes;
use http::{Response, StatusCode};

use super::page_request::PageRequest;
use super::readings;
use super::refusal::RequestRefusal;
use super::typed::understood;
use super::{built, json as json_response};
use crate::gauge::ProbeOptions;
use crate::job::JobFile;
use crate::plan::{Inspection, InspectionSheet, Plan, Planner};
use crate::report::json::{BesideDrawing, Shown};
use crate::report::quote::{Keys, QuoteRow, columns};
use crate::report::{self, Lengths, svg};
use crate::shop::Book;

/// Kinds of answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum AnswerKind {
    /// What the page shows first.
    Page,
    /// The rest: what else could have been chosen, and the way of the wire by the clock.
    Rest,
    /// The drawing alone, read and checked: what can be shown while a long plan is worked out.
    Drawing,
    /// The same as the page without pictures, for a list of drawings.
    Summary,
    /// The drawing sheet.
    Sheet,
    /// The job sheet.
    JobSheet,
    /// Everything, for programs.
    Json,
    /// The wire's paths.
    Dxf,
    /// What an order takes and costs, as a row of a table.
    Row,
    /// Every wire, machine and number of passes, as a table.
    Comparison,
    /// The job file.
    JobFile,
    /// What a job file asks.
    JobRead,
    /// What the readings of a test piece say.
    Gauged,
    /// How finished walls drift.
    Drift,
    /// What of the finished part is to be measured, to write on.
    InspectionSheet,
    /// The same as a table.
    Sizes,
    /// Points for a measuring machine.
    Points,
    /// Every number of the book in force.
    Book,
    /// What can be asked for with the page's own book.
    Choices,
}

impl AnswerKind {
    /// Returns the kind of answer at a path.
    pub(super) fn at(path: &str) -> Option<Self> {
        Some(match path {
            "/answer" => Self::Page,
            "/rest" => Self::Rest,
            "/drawing" => Self::Drawing,
            "/summary" => Self::Summary,
            "/sheet.svg" => Self::Sheet,
            "/job-sheet.html" => Self::JobSheet,
            "/plan.json" => Self::Json,
            "/paths.dxf" => Self::Dxf,
            "/row.csv" => Self::Row,
            "/compare.csv" => Self::Comparison,
            "/job.toml" => Self::JobFile,
            "/job" => Self::JobRead,
            "/gauged" => Self::Gauged,
            "/drift" => Self::Drift,
            "/inspection.html" => Self::InspectionSheet,
            "/sizes.csv" => Self::Sizes,
            "/points.csv" => Self::Points,
            "/book.json" => Self::Book,
            "/choices" => Self::Choices,
            _ => return None,
        })
    }
}

/// Computes an answer.
pub(super) fn answer(
    book: &Book,
    kind: AnswerKind,
    ask: PageRequest,
    bytes: &[u8],
) -> Result<Response<Bytes>, RequestRefusal> {
    let lengths = ask.lengths();
    let plan = || plan(book, &ask, bytes);
    let text = |kind, text: String| built(StatusCode::OK, kind, text.into()).0;
    Ok(match kind {
        AnswerKind::Page => json_response(page(book, &ask, bytes, plan())?),
        AnswerKind::Rest => json_response(rest(&plan()?, lengths)?),
        AnswerKind::Drawing => json_response(match inspect(book, &ask, bytes) {
            Ok(inspection) => drawing(&inspection, &ask, None),
            Err(refused) => drawing(&as_read(book, &ask, bytes)?, &ask, Some(&refused)),
        }),
        AnswerKind::Summary => json_response(summary(book, &ask, bytes, plan())?),
        AnswerKind::Sheet => text("image/svg+xml", svg::plan(&plan()?, lengths)),
        AnswerKind::JobSheet => text("text/html; charset=utf-8", report::html::plan(&plan()?, None)),
        AnswerKind::Json => json_response(report::json::plan(&plan()?)),
        AnswerKind::Dxf => built(StatusCode::OK, "application/dxf", paths(&plan()?)?.into()).0,
        AnswerKind::Row => text("text/csv; charset=utf-8", row(book, &ask, bytes)),
        AnswerKind::Comparison => {
            let comparison = Planner::new(book).job(&ask.job).compare(&ask.file, bytes);
            let comparison = comparison.map_err(|error| RequestRefusal::of_plan(&error))?;
            text("text/csv; charset=utf-8", report::csv::comparison(&comparison))
        }
        AnswerKind::JobFile => {
            let job = JobFile {
                drawing: Some(ask.file),
                ..ask.job
            };
            text(
                "application/toml",
                job.to_text().map_err(|error| RequestRefusal::of_job(&error))?,
            )
        }
        AnswerKind::Gauged => json_response(readings::gauged(book, bytes, lengths)?),
        AnswerKind::Drift => json_response(readings::drifting(bytes, lengths)?),
        AnswerKind::InspectionSheet => {
            let (plan, sheet) = inspection_sheet(plan()?);
            text(
                "text/html; charset=utf-8",
                report::html::inspection_sheet(&plan, &sheet),
            )
        }
        AnswerKind::Sizes => text(
            "text/csv; charset=utf-8",
            report::csv::sizes(&inspection_sheet(plan()?).1),
        ),
        AnswerKind::Points => text(
            "text/csv; charset=utf-8",
            report::csv::probe_points(&inspection_sheet(plan()?).1),
        ),
        AnswerKind::Book => json_response(report::json::numbers(&book.numbers())),
        AnswerKind::Choices => json_response(report::json::choices(book)),
        AnswerKind::JobRead => json_response(read_job(bytes)?),
    })
}

fn inspection_sheet(plan: Plan) -> (Plan, InspectionSheet) {
    let sheet = plan.inspection_sheet(ProbeOptions::default());
    (plan, sheet)
}

/// Writes the wire's paths as DXF.
#[cfg(feature = "dxf-out")]
fn paths(plan: &Plan) -> Result<Vec<u8>, RequestRefusal> {
    report::dxf::plan(plan).map_err(|error| RequestRefusal::new("drawing", error.to_string(), ""))
}

#[cfg(not(feature = "dxf-out"))]
fn paths(_plan: &Plan) -> Result<Vec<u8>, RequestRefusal> {
    let reason = "this program is built without writing DXF";
    Err(RequestRefusal::new(
        "drawing",
        reason,
        "take the paths from the JSON",
    ))
}

/// Writes a table of one row, whether it can be planned or not.
fn row(book: &Book, ask: &PageRequest, bytes: &[u8]) -> String {
    let (file, job) = (&ask.file, &ask.job);
    let key = Keys::new(book).of(bytes, job);
    let row = match Planner::new(book).job(job).plan(file, bytes) {
        Ok(plan) => QuoteRow::of_plan(file, &plan, key),
        Err(error) => QuoteRow::not_planned(file, &error, bytes, job, book, key),
    };
    columns(Lengths::Mm) + &row.csv(Lengths::Mm)
}

fn read_job(bytes: &[u8]) -> Result<String, RequestRefusal> {
    let no_text = |_| RequestRefusal::new("job", "the job file is no text in UTF-8", "");
    let text = std::str::from_utf8(bytes).map_err(no_text)?;
    let job = JobFile::parse(text).map_err(|error| RequestRefusal::of_job(&error))?;
    Ok(report::json::job(&job))
}

fn plan(book: &Book, ask: &PageRequest, bytes: &[u8]) -> Result<Plan, RequestRefusal> {
    let planned = Planner::new(book).job(&ask.job).plan(&ask.file, bytes);
    planned.map_err(|error| RequestRefusal::of_plan(&error))
}

/// Writes what else could have been chosen, how the time falls on the working day, and the way of the wire.
fn rest(plan: &Plan, lengths: Lengths) -> Result<String, RequestRefusal> {
    let alternatives = plan
        .alternatives()
        .map_err(|error| RequestRefusal::of_plan(&error))?;
    let mut pictures = vec![
        ("wall_section", svg::wall_section(plan, lengths)),
        ("chart", svg::chart(plan, &alternatives.candidates)),
    ];
    let day = alternatives.day.as_ref();
    pictures.extend(day.map(|day| ("shift_strip", svg::shift_strip(day))));
    Ok(report::json::rest_of_page(plan, &alternatives, lengths, pictures))
}

fn inspect(book: &Book, ask: &PageRequest, bytes: &[u8]) -> Result<Inspection, RequestRefusal> {
    Planner::new(book)
        .job(&ask.job)
        .inspect(&ask.file, bytes)
        .map_err(|error| RequestRefusal::of_plan(&error))
}

/// Writes what the page shows first. Where no plan can be made, the drawing as read and the reason.
fn page(
    book: &Book,
    ask: &PageRequest,
    bytes: &[u8],
    planned: Result<Plan, RequestRefusal>,
) -> Result<String, RequestRefusal> {
    let plan = match planned {
        Ok(plan) => plan,
        Err(refused) => return Ok(drawing(&as_read(book, ask, bytes)?, ask, Some(&refused))),
    };
    let overlay = svg::overlay(&plan.inspection, Some(&plan), ask.lengths());
    Ok(shown(&Shown::First(&plan), ask, None, vec![("overlay", overlay)]))
}

/// Writes the same without pictures.
fn summary(
    book: &Book,
    ask: &PageRequest,
    bytes: &[u8],
    planned: Result<Plan, RequestRefusal>,
) -> Result<String, RequestRefusal> {
    Ok(match planned {
        Ok(plan) => shown(&Shown::Planned(&plan), ask, None, Vec::new()),
        Err(refused) => {
            let inspection = as_read(book, ask, bytes)?;
            shown(&Shown::Inspected(&inspection), ask, Some(&refused), Vec::new())
        }
    })
}

fn drawing(inspection: &Inspection, ask: &PageRequest, refused: Option<&RequestRefusal>) -> String {
    let pictures = vec![("overlay", svg::overlay(inspection, None, ask.lengths()))];
    shown(&Shown::Inspected(inspection), ask, refused, pictures)
}

fn shown(
    what: &Shown<'_>,
    ask: &PageRequest,
    refused: Option<&RequestRefusal>,
    pictures: Vec<(&'static str, String)>,
) -> String {
    let lengths = ask.lengths();
    let beside = BesideDrawing {
        not_planned: refused.map(RequestRefusal::reason),
        understood: understood(&ask.job, &ask.typed, lengths),
        pictures,
    };
    report::json::page(what, lengths, beside)
}

/// Reads the drawing of a job that cannot be planned: what is wrong with the job must not hide it.
fn as_read(book: &Book, ask: &PageRequest, bytes: &[u8]) -> Result<Inspection, RequestRefusal> {
    inspect(book, ask, bytes).or_else(|_| {
        let nothing_asked = JobFile {
            largest: ask.job.largest,
            ..JobFile::default()
        };
        let inspection = Planner::new(book).job(&nothing_asked).inspect(&ask.file, bytes);
        inspection.map_err(|error| RequestRefusal::of_plan(&error))
    })
}
