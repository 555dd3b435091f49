//! Runs the whole pipeline as one call, without files or terminal.

mod requirement;
mod demand_group;
mod candidate;
mod choice;
mod handling;
mod sequence;
mod day;
mod selection;
mod requirements;
mod comparison;
mod lengths;
mod names;
mod of_job;

use thiserror::Error;

use crate::cancel::CancelToken;
use crate::check::{self, Stage, Subject};
use crate::contour::{self, Contour, Contours, MissingName, Role};
use crate::drawing::{self, Drawing};
use crate::dxf;
use crate::estimate::{self, AuxiliaryWork, Cut, CutGroup, Estimate, EstimateInput, Order, Verdict};
use crate::finding::Finding;
use crate::job::{
    Demand, DemandError, Demands, JobFileError, OffsetBasis, Purpose, Purposes, Reading, WireOptions,
    Workholding,
};
use crate::pass::{self, CornerRun, Group, PassRequest, Schedule, WireReach};
use crate::path::{self, Paths};
use crate::shop::{Book, Rules, Threading, Times};

pub use candidate::{Candidate, SelectionInput, WireAndMachine, evaluate};
pub use choice::{Constraints, choose, compare, fewest_passes};
pub use comparison::{Comparison, compare_requirements};
pub use day::{Activity, Day, DayBlock, day};
pub use demand_group::{DemandGroup, DemandGroups, group_by_demand};
pub use names::names_missing;
pub use of_job::{
    Alternatives, alternatives, compare_job, inspect_job, plan_job, plan_job_while, requirements,
};
pub use requirement::{Blank, WallRequirement, mass_kg, obstacles, with_default};
pub use requirements::{Requirements, plan_requirements};
pub use sequence::{OperationKind, TimedOperation};

/// Why nothing could be planned.
#[derive(Debug, Error)]
pub enum Error {
    /// The file cannot be read.
    #[error(transparent)]
    Dxf(#[from] dxf::Error),
    /// What it holds cannot be placed.
    #[error(transparent)]
    Drawing(#[from] drawing::Error),
    /// The book has no passes for the request.
    #[error(transparent)]
    Pass(#[from] pass::Error),
    /// A requirement cannot be read or has no limits at its size.
    #[error(transparent)]
    Demand(#[from] DemandError),
    /// The job holds an impossible number.
    #[error(transparent)]
    Job(JobFileError),
    /// The job leaves out what every plan needs.
    #[error("no {what} is given")]
    NotAsked {
        /// What is missing.
        what: &'static str,
        /// Its key in a job file.
        key: &'static str,
    },
    /// The job names what is not in the drawing.
    #[error("{}", names.iter().map(MissingName::words).collect::<Vec<_>>().join("; "))]
    Names {
        /// What it names.
        names: Vec<MissingName>,
    },
    /// Nobody waits for it any more.
    #[error("given up, since nobody waits for it")]
    Cancelled,
    /// No wire and machine of the book can cut it, whatever the passes.
    #[error("cannot be cut: {}", reasons.join("; "))]
    Impossible {
        /// Why the nearest wire and machine cannot.
        reasons: Vec<String>,
    },
}

/// A drawing, read, measured and checked.
#[derive(Clone, Debug)]
pub struct Inspection {
    /// Base name of the file.
    pub file: String,
    /// The drawing.
    pub drawing: Drawing,
    /// Its contours.
    pub contours: Contours,
    /// What the checks found, worst first.
    pub findings: Vec<Finding>,
    /// Assumptions, in words.
    pub assumptions: Vec<String>,
    /// What the wires of the book can do, thinnest first.
    pub wires: Vec<WireReach>,
    /// The rules of the book, which set the limits of the checks.
    pub rules: Rules,
}

/// The offset cutting plan of one drawing.
#[derive(Debug)]
pub struct Plan {
    /// The drawing and what all checks found, those of the paths too.
    pub inspection: Inspection,
    /// The requirement of the first demand group.
    pub request: PassRequest,
    /// The requirement of each demand group, in order.
    pub asked: Vec<WallRequirement>,
    /// The passes of the first demand group, and how each of their figures came about.
    pub schedule: Schedule,
    /// Those of the other demand groups, in order.
    pub more_schedules: Vec<Schedule>,
    /// Which contours are cut with which passes.
    pub groups: Vec<Group>,
    /// The wire-centre paths.
    pub paths: Paths,
    /// Minutes, area and wire.
    pub cut: Cut,
    /// Every term of time, the ledger, accuracy and surface of each demand group.
    pub estimate: Estimate,
    /// The candidates: the one taken first, then other wires and machines, then the same with fewer passes. Empty where
    /// wire and passes were given.
    pub candidates: Vec<Candidate>,
    /// The book's times for what is done beside the cut.
    pub times: Times,
    /// How the machine threads.
    pub threading: Threading,
}

/// Reads, measures and checks a drawing. `file` is the base name that the outputs show.
pub fn inspect(
    file: &str,
    bytes: &[u8],
    reading: &Reading,
    uses: &Purposes,
    book: &Book,
) -> Result<Inspection, Error> {
    let mut inspection = read(file, bytes, reading, uses, book)?;
    inspection.findings = check::run(&inspection.subject(None), Stage::Contour);
    log::debug!("drawing checked");
    Ok(inspection)
}

/// Plans every contour to be cut with the passes that `request` names.
pub fn plan(
    file: &str,
    bytes: &[u8],
    reading: &Reading,
    uses: &Purposes,
    book: &Book,
    request: &PassRequest,
) -> Result<Plan, Error> {
    plan_while(RunOptions::default(), file, bytes, reading, uses, book, request)
}

/// Options of a run: its cancellation, the workholding and the wire.
#[derive(Clone, Default)]
struct RunOptions {
    cancel: CancelToken,
    holding: Workholding,
    running: WireOptions,
}

/// Plans as [`plan`], with options.
fn plan_while(
    terms: RunOptions,
    file: &str,
    bytes: &[u8],
    reading: &Reading,
    uses: &Purposes,
    book: &Book,
    request: &PassRequest,
) -> Result<Plan, Error> {
    // The request is looked up first: a wrong word should not wait for a large drawing.
    let schedule = pass::schedule(book, request)?;
    let inspection = read(file, bytes, reading, uses, book)?;
    let given = Demands {
        all: Demand {
            passes: Some(request.passes),
            aim_mm: Some(request.aim_mm),
            ..Demand::default()
        },
        ..Demands::default()
    };
    let sorted = inspection.group_by_demand(&given, book)?;
    let part = GroupPlan {
        request: request.clone(),
        schedule,
        contours: inspection.to_cut(),
        asked: sorted
            .demand_groups
            .first()
            .map_or_else(WallRequirement::default, |outline| outline.asked.clone()),
        size_mm: sorted.largest_mm(),
    };
    let job = JobContext {
        work: sorted.work.clone(),
        order: Order::default(),
        pickup_mm: sorted.diagonal_mm(),
        offset_basis: OffsetBasis::default(),
        terms,
    };
    assemble(inspection, book, part, Vec::new(), job, Vec::new())
}

/// A demand group with what its plan is made from.
struct GroupPlan {
    request: PassRequest,
    schedule: Schedule,
    contours: Vec<usize>,
    asked: WallRequirement,
    size_mm: f64,
}

/// What holds for the whole job.
struct JobContext {
    work: AuxiliaryWork,
    order: Order,
    pickup_mm: f64,
    offset_basis: OffsetBasis,
    terms: RunOptions,
}

/// Offsets, checks and estimates.
#[expect(
    clippy::too_many_lines,
    reason = "one list: the steps of a plan in their order"
)]
fn assemble(
    mut inspection: Inspection,
    book: &Book,
    first: GroupPlan,
    more: Vec<GroupPlan>,
    job: JobContext,
    candidates: Vec<Candidate>,
) -> Result<Plan, Error> {
    let parts: Vec<&GroupPlan> = std::iter::once(&first).chain(&more).collect();
    let request = &first.request;
    let RunOptions {
        cancel,
        holding,
        running,
    } = &job.terms;
    let groups: Vec<Group> = (1..)
        .zip(&parts)
        .map(|(group, part)| Group {
            group,
            contours: part.contours.clone(),
            rough_only: inspection.loose_parts(&part.contours, holding),
            passes: part.schedule.passes.clone(),
            tolerance_mm: part.asked.tolerance_mm(),
            inside_radius_mm: part.asked.inside_radius_mm,
            corners: running
                .sharp_corners
                .map_or_else(CornerRun::default, |limit| CornerRun::Sharp { limit }),
        })
        .collect();
    let mut paths = path::wire_paths(&inspection.contours, &groups, cancel).ok_or(Error::Cancelled)?;
    log::debug!("{} paths laid and verified", paths.loops.len());
    handling::handle(
        &mut paths,
        &inspection,
        &groups,
        request,
        (holding, running),
        book,
    )?;
    log::debug!("starts, leads, tabs and order found");
    for words in handling::assumptions(running, &groups) {
        // A drawing that is planned again has them already.
        if !inspection.assumptions.contains(&words) {
            inspection.assumptions.push(words);
        }
    }
    let cut_groups: Vec<CutGroup<'_>> = (1..)
        .zip(&parts)
        .map(|(group, part)| CutGroup {
            group,
            schedule: &part.schedule,
        })
        .collect();
    let lengths = lengths::path_lengths(&groups, &paths);
    let work = handling::counted(job.work, &paths);
    let not_skimmed: Vec<usize> = paths.not_skimmed.iter().map(|part| part.group).collect();
    let sizes_mm: Vec<f64> = parts.iter().map(|part| part.size_mm).collect();
    let setting = request.setting(book)?;
    let threading = setting.machine.threading;
    let estimate = estimate::estimate(EstimateInput {
        book,
        setting,
        thickness_mm: request.thickness_mm,
        groups: &cut_groups,
        lengths: &lengths,
        work: &work,
        order: job.order,
        not_skimmed: &not_skimmed,
        sizes_mm: &sizes_mm,
        pickup_mm: job.pickup_mm,
        offset_basis: job.offset_basis,
    });
    log::debug!("time, cost and accuracy estimated");
    inspection.findings = check::run(&inspection.subject(Some(&paths)), Stage::Path);
    log::debug!("drawing and paths checked");
    let asked = parts.iter().map(|part| part.asked.clone()).collect();
    Ok(Plan {
        inspection,
        asked,
        request: first.request,
        schedule: first.schedule,
        more_schedules: more.into_iter().map(|part| part.schedule).collect(),
        groups,
        paths,
        cut: estimate.cut.clone(),
        estimate,
        candidates,
        times: book.times.clone(),
        threading,
    })
}

impl Plan {
    /// Returns the schedule of each demand group, with the number of the group.
    pub fn schedules(&self) -> impl Iterator<Item = (usize, &Schedule)> {
        (1..).zip(std::iter::once(&self.schedule).chain(&self.more_schedules))
    }

    /// Returns the verdict on a demand group, from 1, before measuring (ISO 14253-1); `None` where it has no limits or a
    /// path is missing.
    pub fn verdict(&self, group: usize) -> Option<Verdict> {
        let asked = self.asked.get(group.checked_sub(1)?)?;
        let (limits, scope) = asked.limits?;
        let quality = self
            .estimate
            .quality
            .iter()
            .find(|quality| quality.group == group)?;
        Some(
            quality
                .accuracy
                .as_ref()?
                .against(limits, scope, asked.off_middle_mm),
        )
    }

    /// Where what was asked is chosen for: whether the choice is expected to reach it.
    pub fn reaches_demand(&self) -> bool {
        self.candidates.first().is_none_or(|taken| taken.feasible)
    }
}

impl Inspection {
    /// Returns the numbers of the contours to be cut.
    pub fn to_cut(&self) -> Vec<usize> {
        let cut = self.contours.list.iter().filter(|c| c.purpose == Purpose::Cut);
        cut.map(|c| c.id).collect()
    }

    /// Groups the contours to be cut by their requirements.
    pub fn group_by_demand(&self, demands: &Demands, book: &Book) -> Result<DemandGroups, DemandError> {
        group_by_demand(&self.contours, |contour| self.layer_of(contour), demands, book)
    }

    /// Returns the layer of a contour: that of its first curve.
    pub fn layer_of(&self, contour: &Contour) -> &str {
        let curve = contour.curves.first().and_then(|i| self.drawing.curves.get(*i));
        let layer = curve.and_then(|curve| self.drawing.layers.get(curve.origin.layer as usize));
        layer.map_or("0", |layer| layer.name.as_str())
    }

    /// Returns the thickest wire of the book that follows every inside radius of a contour and enters its narrowest slot,
    /// mm. Sharp inside corners are left aside, since no wire follows them. `None` when none fits, or when the
    /// contour is not cut.
    pub fn thickest_wire_mm(&self, contour: &Contour) -> Option<f64> {
        if contour.purpose != Purpose::Cut || contour.role == Role::Open {
            return None;
        }
        let radius_mm = contour.inside_arcs().map(|(_, arc)| arc.radius());
        let radius_mm = radius_mm.fold(f64::INFINITY, f64::min);
        let slot_mm = contour
            .narrowest_slot
            .as_ref()
            .map_or(f64::INFINITY, |slot| slot.width_mm);
        let fits = |wire: &&WireReach| wire.inside_radius_mm <= radius_mm && wire.kerf_mm <= slot_mm;
        self.wires.iter().rfind(fits).map(|wire| wire.wire_mm)
    }

    fn subject<'a>(&'a self, paths: Option<&'a Paths>) -> Subject<'a> {
        Subject {
            drawing: &self.drawing,
            contours: &self.contours,
            paths,
            wires: &self.wires,
            rules: &self.rules,
        }
    }
}

fn read(
    file: &str,
    bytes: &[u8],
    reading: &Reading,
    uses: &Purposes,
    book: &Book,
) -> Result<Inspection, Error> {
    let document = dxf::read(bytes)?;
    log::debug!("tags of {} bytes read", bytes.len());
    let drawing = drawing::from_document(&document, reading)?;
    drop(document);
    log::debug!("{} curves placed", drawing.curves.len());
    // A wrong name should not wait for the contours of a large drawing.
    names::missing(&drawing, None, reading)?;
    let mut contours = contour::build(&drawing, reading, uses);
    contours.facts.names_missing = names::missing(&drawing, Some(&contours), reading)?;
    log::debug!("widths of slots and walls measured");
    let assumptions = contours.assumptions.clone();
    let wires = pass::wire_reach(book);
    log::debug!("wires of the book looked through");
    Ok(Inspection {
        file: file.to_owned(),
        drawing,
        contours,
        findings: Vec::new(),
        assumptions,
        wires,
        rules: book.rules.clone(),
    })
}
