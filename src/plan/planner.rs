//! The one way into the pipeline: for every command, for the page and for other programs.

use std::borrow::Cow;

use super::candidate::Candidate;
use super::comparison::{Comparison, compare_requirements, evaluate_alternatives, setup_of};
use super::requirements::Requirements;
use super::selection::Selection;
use super::{Constraints, Day, DrawingSource, Error, Inspection, Plan, day, inspect_source, plan_given};
use crate::cancel::CancelToken;
use crate::estimate::OrderRequest;
use crate::job::{Demand, Demands, JobFile, JobFileError};
use crate::pass::PassRequest;
use crate::shop::Book;

/// Inspects, plans and compares drawings with the book of a shop, as a job asks for it, without files, clock or terminal.
///
/// The name of a drawing is the base name that the outputs show. Bytes that are given away take no memory once they are read.
#[derive(Clone, Debug)]
#[must_use]
pub struct Planner<'a> {
    book: &'a Book,
    job: Cow<'a, JobFile>,
    cancel: Option<CancelToken>,
}

impl<'a> Planner<'a> {
    /// Makes a planner for this book, with a job that asks for nothing: enough to inspect a drawing.
    pub fn new(book: &'a Book) -> Self {
        Self {
            book,
            job: Cow::Owned(JobFile::default()),
            cancel: None,
        }
    }

    /// Sets what is asked for.
    pub fn job(self, job: &'a JobFile) -> Self {
        let job = Cow::Borrowed(job);
        Self { job, ..self }
    }

    /// Sets the token that stops the work: it runs on threads of its own and ends with [`Error::Cancelled`] soon after
    /// [`CancelToken::cancel`] is called. Without one it runs on those of the caller, to its end.
    pub fn cancel(self, token: &CancelToken) -> Self {
        let cancel = Some(token.clone());
        Self { cancel, ..self }
    }

    /// Reads, measures and checks a drawing.
    ///
    /// ```
    /// use kerfwright::{Book, Planner};
    ///
    /// let (book, drawing) = (Book::built_in()?, std::fs::read("fixtures/shapes/stadium.dxf")?);
    /// let inspection = Planner::new(&book).inspect("stadium.dxf", drawing)?;
    /// assert_eq!(inspection.contours.list.len(), 1);
    /// assert!(inspection.findings.is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// Where the drawing cannot be read, holds more than the job takes, or lacks what the job names; where the job cannot be
    /// understood.
    pub fn inspect<'b>(&self, name: &str, bytes: impl Into<Cow<'b, [u8]>>) -> Result<Inspection, Error> {
        self.run(name, bytes.into(), |drawing| inspect_source(drawing, self.book))
    }

    /// Plans a drawing: with the given wire and passes where the job has no other requirement, else with what is chosen on the
    /// default machine, and with the default kind of a wire that is given. Where nothing in the book reaches what is asked the
    /// nearest is planned, and the assumptions say what is missing. A choice whose real paths do not keep what was expected of
    /// them gives way to the next.
    ///
    /// ```
    /// use kerfwright::{Book, JobFile, Planner};
    ///
    /// let (book, drawing) = (Book::built_in()?, std::fs::read("fixtures/shapes/stadium.dxf")?);
    /// let job = JobFile::parse("material = \"tool-steel\"\nthickness_mm = 20\nfinish = \"Ra 0.8\"")?;
    /// let plan = Planner::new(&book).job(&job).plan("stadium.dxf", drawing)?;
    /// assert!(plan.reaches_demand());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As for [`Planner::inspect`]; and where the job lacks a material or a thickness, the book has no passes for it, or nothing
    /// in the book can cut the drawing.
    pub fn plan<'b>(&self, name: &str, bytes: impl Into<Cow<'b, [u8]>>) -> Result<Plan, Error> {
        let (job, book) = (&*self.job, self.book);
        self.run(name, bytes.into(), |drawing| {
            if let Some(request) = fixed_passes(job)? {
                return plan_given(drawing, book, job, &request);
            }
            let requirements = plan_requirements_of(job, book)?;
            Selection::read(drawing, book, &requirements)?.plan(&requirements)
        })
    }

    /// Weighs every wire, machine and number of passes that the job leaves open. Those that no other beats are computed from
    /// their own paths; the others are estimated from perimeters, and beaten by more than their estimates say.
    ///
    /// ```
    /// use kerfwright::{Book, JobFile, Planner};
    ///
    /// let (book, drawing) = (Book::built_in()?, std::fs::read("fixtures/shapes/stadium.dxf")?);
    /// let job = JobFile::parse("material = \"tool-steel\"\nthickness_mm = 20\nfinish = \"Ra 0.8\"")?;
    /// let comparison = Planner::new(&book).job(&job).compare("stadium.dxf", drawing)?;
    /// assert!(comparison.candidates.len() > 1 && comparison.chosen.is_some());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As for [`Planner::plan`], but for what nothing in the book can cut: then nothing is chosen.
    pub fn compare<'b>(&self, name: &str, bytes: impl Into<Cow<'b, [u8]>>) -> Result<Comparison, Error> {
        self.run(name, bytes.into(), |drawing| {
            compare_requirements(drawing, self.book, &requirements(&self.job)?)
        })
    }

    /// Works on a drawing with a sound job, until the end or until the work is cancelled.
    fn run<T: Send>(
        &self,
        name: &str,
        bytes: Cow<'_, [u8]>,
        work: impl FnOnce(DrawingSource<'_>) -> Result<T, Error> + Send,
    ) -> Result<T, Error> {
        self.job.validate()?;
        let (reading, uses) = (self.job.reading()?, self.job.uses()?);
        let work = || work(DrawingSource::new(name, bytes, &reading, &uses));
        match &self.cancel {
            None => work(),
            // On as many threads as there are cores.
            Some(token) => token.run(0, work)?.map_err(|_| Error::Cancelled)?,
        }
    }
}

/// What else could have been chosen, and how the time falls on the working day.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Alternatives {
    /// Every wire, machine and number of passes, whichever the job gives; the plan's own is marked as chosen.
    pub candidates: Vec<Candidate>,
    /// The day of one piece; `None` where there are no totals.
    pub day: Option<Day>,
}

impl Alternatives {
    /// Returns which candidate takes the next finer wire than the plan that can cut it, on the same machine in as many passes,
    /// from 0.
    pub fn finer_wire(&self, plan: &Plan) -> Option<usize> {
        let (machine, passes) = (setup_of(plan).machine, plan.most_passes());
        let finer = |candidate: &Candidate| {
            candidate.possible
                && candidate.wire_mm < plan.setup.wire_mm
                && (&candidate.machine, candidate.passes) == (&machine, passes)
        };
        let numbered = self.candidates.iter().enumerate();
        numbered
            .filter(|(_, candidate)| finer(candidate))
            .max_by(|(_, a), (_, b)| a.wire_mm.total_cmp(&b.wire_mm))
            .map(|(i, _)| i)
    }

    /// Returns which candidate makes one pass more than the plan with the same wire on the same machine, from 0.
    pub fn one_pass_more(&self, plan: &Plan) -> Option<usize> {
        let setup = setup_of(plan);
        let passes = plan.most_passes() + 1;
        self.candidates.iter().position(|candidate| {
            candidate.possible
                && candidate.passes == passes
                && (candidate.wire_mm, &candidate.wire_kind, &candidate.machine)
                    == (setup.wire_mm, &setup.wire_kind, &setup.machine)
        })
    }
}

impl Plan {
    /// Returns the most passes of any demand group.
    fn most_passes(&self) -> usize {
        let passes = self.groups.iter().map(|group| group.request.passes);
        passes.max().unwrap_or(0)
    }

    /// Computes the alternatives to this plan from its own job and book.
    ///
    /// # Errors
    /// Where the book of the plan lacks what its job names.
    pub fn alternatives(&self) -> Result<Alternatives, Error> {
        let open = JobFile {
            wire_mm: None,
            wire_kind: None,
            machine: None,
            passes: None,
            ..self.job.clone()
        };
        Ok(Alternatives {
            candidates: evaluate_alternatives(self, &requirements(&open)?, &self.book)?,
            day: day(self),
        })
    }
}

/// Returns the requirements of a job, with what it does not name left open.
pub(super) fn requirements(job: &JobFile) -> Result<Requirements, Error> {
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
