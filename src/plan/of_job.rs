//! Runs a job file through the pipeline: the one entry point of every command and of the local page.

use std::borrow::Cow;

use super::candidate::Candidate;
use super::comparison::{Comparison, compare_requirements, evaluate_alternatives};
use super::requirements::Requirements;
use super::selection::Selection;
use super::{Constraints, Day, DrawingSource, Error, Inspection, Plan, day, inspect_source, plan_given};
use crate::estimate::OrderRequest;
use crate::job::{Demand, Demands, JobFile, JobFileError};
use crate::pass::PassRequest;
use crate::shop::Book;

/// Reads, measures and checks the drawing of a job. `file` is the base name that the outputs show.
/// Bytes that are given away take no memory when they are read.
pub fn inspect_job<'a>(
    file: &str,
    bytes: impl Into<Cow<'a, [u8]>>,
    job: &JobFile,
    book: &Book,
) -> Result<Inspection, Error> {
    job.validate()?;
    let (reading, uses) = (job.reading()?, job.uses()?);
    inspect_source(DrawingSource::new(file, bytes.into(), &reading, &uses), book)
}

/// Plans a job: with the given wire and passes where it has no other requirement, else with what is chosen on the default
/// machine, and with the default kind of a wire that is given. Bytes that are given away take no memory when they are read.
pub fn plan_job<'a>(
    file: &str,
    bytes: impl Into<Cow<'a, [u8]>>,
    job: &JobFile,
    book: &Book,
) -> Result<Plan, Error> {
    job.validate()?;
    let (reading, uses) = (job.reading()?, job.uses()?);
    let source = DrawingSource::new(file, bytes.into(), &reading, &uses);
    if let Some(request) = fixed_passes(job)? {
        return plan_given(source, book, job, &request);
    }
    let requirements = plan_requirements_of(job, book)?;
    Selection::read(source, book, &requirements)?.plan(&requirements)
}

/// Evaluates all that a job leaves open.
pub fn compare_job(file: &str, bytes: &[u8], job: &JobFile, book: &Book) -> Result<Comparison, Error> {
    job.validate()?;
    let (reading, uses) = (job.reading()?, job.uses()?);
    compare_requirements(file, bytes, &reading, &uses, book, &requirements(job)?)
}

/// What else could have been chosen, and how the time falls on the working day.
#[derive(Clone, Debug)]
pub struct Alternatives {
    /// Every wire, machine and number of passes, whichever the job gives; the plan's own is marked as chosen.
    pub candidates: Vec<Candidate>,
    /// The day of one piece; `None` where there are no totals.
    pub day: Option<Day>,
}

/// Computes the alternatives to a plan from its own job and book. Nothing is offset for it.
pub fn alternatives(plan: &Plan) -> Result<Alternatives, Error> {
    let open = JobFile {
        wire_mm: None,
        wire_kind: None,
        machine: None,
        passes: None,
        ..plan.job.clone()
    };
    Ok(Alternatives {
        candidates: evaluate_alternatives(plan, &requirements(&open)?, &plan.book)?,
        day: day(plan),
    })
}

/// Returns the requirements of a job, with what it does not name left open.
pub fn requirements(job: &JobFile) -> Result<Requirements, Error> {
    let (material, thickness_mm) = work(job)?;
    Ok(Requirements {
        job: job.clone(),
        demands: job.demands()?,
        open: Constraints {
            wire_mm: job.wire_mm,
            wire_kind: job.wire_kind.clone(),
            machine: job.machine.clone(),
        },
        prefer: job.prefer.unwrap_or_default(),
        nozzles: job.nozzles.unwrap_or_default(),
        order: OrderRequest {
            quantity: job.quantity,
            pieces_per_load: job.pieces_per_load,
        },
        pickup_mm: job.pickup_mm,
        offset_basis: job.offset.unwrap_or_default(),
        tapered: job.tapered(),
        holding: job.holding()?,
        running: job.running()?,
        ..Requirements::new(material, thickness_mm)
    })
}

/// Returns the requirements of a job that is planned, on the default machine and with the default kind of a given wire.
fn plan_requirements_of(job: &JobFile, book: &Book) -> Result<Requirements, Error> {
    let mut requirements = requirements(job)?;
    let open = &mut requirements.open;
    open.machine.get_or_insert_with(|| book.default_machine.clone());
    if open.wire_mm.is_some() {
        open.wire_kind.get_or_insert_with(|| book.wire.kind.clone());
    }
    Ok(requirements)
}

/// Returns the request for passes where wire and passes are given and nothing has to be chosen.
fn fixed_passes(job: &JobFile) -> Result<Option<PassRequest>, Error> {
    let (Some(wire_mm), Some(passes)) = (job.wire_mm, job.passes) else {
        return Ok(None);
    };
    let only_passes = Demands {
        all: Demand {
            passes: Some(passes),
            aim_mm: job.aim_mm,
            ..Demand::default()
        },
        ..Demands::default()
    };
    let more = job.quantity.is_some()
        || job.pieces_per_load.is_some()
        || job.pickup_mm.is_some()
        || job.offset.is_some();
    if more || job.tapered() || job.demands()? != only_passes {
        return Ok(None);
    }
    let (material, thickness_mm) = work(job)?;
    Ok(Some(PassRequest {
        wire_kind: job.wire_kind.clone(),
        aim_mm: job.aim_mm.unwrap_or_default(),
        nozzles: job.nozzles.unwrap_or_default(),
        machine: job.machine.clone(),
        ..PassRequest::new(material, thickness_mm, wire_mm, passes)
    }))
}

fn work(job: &JobFile) -> Result<(String, f64), Error> {
    let missing = |what, key| Error::NotAsked { what, key };
    let material = job.material.clone();
    Ok((
        material.ok_or(missing("material", "material"))?,
        job.thickness_mm.ok_or(missing("thickness", "thickness_mm"))?,
    ))
}

impl From<JobFileError> for Error {
    fn from(error: JobFileError) -> Self {
        match error {
            JobFileError::Demand(error) => Self::Demand(error),
            error => Self::Job(error),
        }
    }
}
