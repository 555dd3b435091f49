//! Answers that are worked out from a drawing and what is asked of it.

use hyper::body::Bytes;
use hyper::{Request, Response, StatusCode};
use serde_json::json;

use super::ask::Ask;
use super::refusal::Refusal;
use super::{built, json as json_response};
use crate::job::JobFile;
use crate::plan::{self, Candidate, Inspection, Plan};
use crate::report::json::Shown;
use crate::report::{self, svg};
use crate::shop::Book;

/// What is to be worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// All that the page shows.
    Page,
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
    /// The job file of what is asked.
    JobFile,
    /// What a job file asks.
    JobRead,
}

impl Kind {
    /// What a path answers to.
    pub(super) fn at(path: &str) -> Option<Self> {
        Some(match path {
            "/answer" => Self::Page,
            "/drawing" => Self::Drawing,
            "/summary" => Self::Summary,
            "/sheet.svg" => Self::Sheet,
            "/job-sheet.html" => Self::JobSheet,
            "/plan.json" => Self::Json,
            "/paths.dxf" => Self::Dxf,
            "/job.toml" => Self::JobFile,
            "/job" => Self::JobRead,
            _ => return None,
        })
    }
}

/// Works it out.
pub(super) fn answer(book: &Book, kind: Kind, request: &Request<Bytes>) -> Result<Response<Bytes>, Refusal> {
    let ask = Ask::of(request)?;
    let bytes = request.body();
    let text = |kind, text: String| built(StatusCode::OK, kind, text.into()).0;
    Ok(match kind {
        Kind::Page => json_response(page(book, &ask, bytes)?),
        Kind::Drawing => json_response(drawing(&inspect(book, &ask, bytes)?, None)),
        Kind::Summary => json_response(summary(book, &ask, bytes)?),
        Kind::Sheet => text("image/svg+xml", svg::plan(&plan(book, &ask, bytes)?)),
        Kind::JobSheet => text(
            "text/html; charset=utf-8",
            report::html::plan(&plan(book, &ask, bytes)?),
        ),
        Kind::Json => json_response(report::json::plan(&plan(book, &ask, bytes)?)),
        Kind::Dxf => {
            let paths = report::dxf::plan(&plan(book, &ask, bytes)?);
            let paths = paths.map_err(|error| Refusal::new("drawing", error.to_string(), ""))?;
            built(StatusCode::OK, "application/dxf", paths.into()).0
        }
        Kind::JobFile => {
            let job = JobFile {
                drawing: Some(ask.file),
                ..ask.job
            };
            text(
                "application/toml",
                job.to_text().map_err(|error| Refusal::of_job(&error))?,
            )
        }
        Kind::JobRead => json_response(read_job(bytes)?),
    })
}

fn read_job(bytes: &[u8]) -> Result<String, Refusal> {
    let no_text = |_| Refusal::new("job", "the job file is no text in UTF-8", "");
    let text = std::str::from_utf8(bytes).map_err(no_text)?;
    let job = JobFile::parse(text).map_err(|error| Refusal::of_job(&error))?;
    Ok(json!({ "job": job }).to_string())
}

fn plan(book: &Book, ask: &Ask, bytes: &[u8]) -> Result<Plan, Refusal> {
    let (reading, uses) = reading(ask)?;
    let wanted = wanted(book, ask)?;
    plan::plan_wanted(&ask.file, bytes, &reading, &uses, book, &wanted)
        .map_err(|error| Refusal::of_plan(&error))
}

fn reading(ask: &Ask) -> Result<(crate::job::Reading, crate::job::Uses), Refusal> {
    let standard = crate::job::Reading::default();
    let uses = ask.job.uses().map_err(|error| Refusal::of_job(&error))?;
    Ok((standard, uses))
}

fn wanted(book: &Book, ask: &Ask) -> Result<plan::Wanted, Refusal> {
    let job = &ask.job;
    let material = job
        .material
        .clone()
        .ok_or_else(|| Refusal::new("material", "no material is given", ""))?;
    let thickness = job
        .thickness_mm
        .ok_or_else(|| Refusal::new("thickness_mm", "no thickness is given", ""))?;
    Ok(plan::Wanted {
        demands: job.demands().map_err(|error| Refusal::of_job(&error))?,
        open: plan::Open {
            wire_mm: job.wire_mm,
            wire_kind: job.wire_kind.clone(),
            machine: job.machine.clone().or_else(|| Some(book.default_machine.clone())),
        },
        ..plan::Wanted::new(material, thickness)
    })
}

/// All that the page shows. Where no plan can be made, the drawing as it was read and why.
fn page(book: &Book, ask: &Ask, bytes: &[u8]) -> Result<String, Refusal> {
    match plan(book, ask, bytes) {
        Ok(plan) => {
            let candidates = side_by_side(book, ask, &plan)?;
            let asked_um = plan
                .asked
                .iter()
                .filter_map(|asked| asked.ra_um)
                .min_by(f64::total_cmp);
            let currency = plan
                .estimate
                .ledger
                .as_ref()
                .map_or("", |ledger| &ledger.currency);
            let pictures = vec![
                ("overlay", svg::overlay(&plan.inspection, Some(&plan))),
                ("wall_section", svg::wall_section(&plan)),
                ("chart", svg::chart(&candidates, asked_um, currency)),
            ];
            Ok(report::json::page(
                &Shown::Planned(&plan, &candidates),
                None,
                pictures,
            ))
        }
        Err(refused) => Ok(drawing(&inspect(book, ask, bytes)?, Some(refused))),
    }
}

/// The same without pictures and without what might have been.
fn summary(book: &Book, ask: &Ask, bytes: &[u8]) -> Result<String, Refusal> {
    match plan(book, ask, bytes) {
        Ok(plan) => Ok(report::json::page(&Shown::Planned(&plan, &[]), None, Vec::new())),
        Err(refused) => {
            let inspection = inspect(book, ask, bytes)?;
            Ok(report::json::page(
                &Shown::Inspected(&inspection),
                Some(json!(refused)),
                Vec::new(),
            ))
        }
    }
}

fn drawing(inspection: &Inspection, refused: Option<Refusal>) -> String {
    let pictures = vec![("overlay", svg::overlay(inspection, None))];
    let refused = refused.map(|refused| json!(refused));
    report::json::page(&Shown::Inspected(inspection), refused, pictures)
}

fn inspect(book: &Book, ask: &Ask, bytes: &[u8]) -> Result<Inspection, Refusal> {
    let (reading, uses) = reading(ask)?;
    plan::inspect(&ask.file, bytes, &reading, &uses, book).map_err(|error| Refusal::of_plan(&error))
}

/// Every wire, machine and number of passes, whatever was picked among them, with the picked one marked.
fn side_by_side(book: &Book, ask: &Ask, plan: &Plan) -> Result<Vec<Candidate>, Refusal> {
    let job = JobFile {
        wire_mm: None,
        wire_kind: None,
        machine: None,
        passes: None,
        ..ask.job.clone()
    };
    let open = wanted(
        book,
        &Ask {
            file: String::new(),
            job,
        },
    )?;
    plan::side_by_side(plan, &open, book).map_err(|error| Refusal::of_plan(&error))
}
