//! Runs the whole pipeline as one call, without files or terminal.

mod contour_assumptions;
mod process_assumptions;
mod gauged;
mod group_plan;
mod shortfall;
mod requirement;
mod equal_parts;
mod parallel_length;
mod part_in_room;
mod demand_group;
mod wire_and_machine;
mod requirements;
mod selection_input;
mod slug_work;
mod least_work;
mod cut_facts;
mod candidate;
mod choice;
mod auxiliary_work;
mod computed;
mod weighing;
mod sequence;
mod wire_way;
mod order_rows;
mod drawing_totals;
mod day;
mod selection;
mod comparison;
mod inspection_sheet;
mod lengths;
mod kerf;
mod names;
mod planner;
mod remedies;

use std::borrow::Cow;
use std::io;

use thiserror::Error;

use self::computed::{JobContext, KnownPaths, compute};
use self::cut_facts::CutFacts;
use self::group_plan::GroupRequest;
use self::requirement::material_assumption;
use crate::check::path_words::{incomplete_in_words, limit_in_words};
use crate::check::{self, CheckedGroup, Stage, Subject, names_in_words};
use crate::contour::{self, Contour, Contours, MissingName, Role, SideFrom};
use crate::drawing::{self, Drawing};
use crate::dxf;
use crate::estimate::{Estimate, Order, OrderRequest, Time};
use crate::finding::Finding;
use crate::geometry::Point;
use crate::id::ContourId;
use crate::job::{
    Demand, DemandError, Demands, JobFile, JobFileError, OffsetBasis, Purpose, Purposes, Reading, Workholding,
};
use crate::message::{Message, message, mm};
use crate::pass::{self, Pass, PassRequest, WireReach};
use crate::process::{self, Process};
use crate::question::{self, Questions};
use crate::shop::{Book, Figure, Rules, Threading};
use crate::toolpath::{Incomplete, Toolpaths, WireLoop};

pub use candidate::{Candidate, FigureBasis, WorstError, evaluate};
pub use choice::{choose, compare, fewest_passes};
pub use comparison::Comparison;
pub use day::{Activity, Day, DayBlock, OrderDays, day, order_days};
pub use demand_group::{DemandGroup, DemandGroups, group_by_demand};
pub use drawing_totals::DrawingTotals;
pub use equal_parts::{DrawnParts, EqualParts};
pub use group_plan::{GroupPlan, Setup};
pub use inspection_sheet::{CutContour, InspectionSheet};
pub use names::names_missing;
pub use order_rows::OperationRow;
pub use parallel_length::ParallelLength;
pub use planner::{Alternatives, Planner};
pub use remedies::{Remedy, RemedyKind};
pub use requirement::{Blank, WallRequirement, mass_kg, obstacles, with_default};
pub use selection_input::SelectionInput;
pub use sequence::{ContourShare, OperationKind, TimedOperation};
pub use shortfall::{Shortfall, shortfalls_in_words};
pub use wire_and_machine::{Constraints, WireAndMachine};
pub use wire_way::WireStretch;

/// Why nothing could be planned.
#[derive(Debug, Error)]
#[non_exhaustive]
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
    #[error("{}", names_in_words(names))]
    Names {
        /// What it names.
        names: Vec<MissingName>,
    },
    /// A path cannot be started from the edge of the blank.
    #[error("contour {contour} cannot be started from the edge (`start = \"edge\"`): {reason}")]
    EdgeStart {
        /// Number of the contour.
        contour: ContourId,
        /// Why not.
        reason: &'static str,
    },
    /// The drawing holds more than is taken here.
    #[error("the drawing has {found} {what}; at most {limit} are taken here")]
    TooLarge {
        /// Of what.
        what: &'static str,
        /// How many it has.
        found: usize,
        /// How many are taken.
        limit: usize,
    },
    /// Its contours meet in more places than are looked at.
    #[error("{}", self.message())]
    Tangled {
        /// Where the first of them meet.
        at: Point,
    },
    /// A contour lies within too many others.
    #[error("{}", self.message())]
    TooDeep {
        /// Number of the contour.
        contour: ContourId,
        /// Line of the file of its first curve.
        line: usize,
        /// Where it begins, mm.
        at: Point,
        /// Within how many it may lie.
        limit: usize,
    },
    /// The work was cancelled before its end.
    #[error("cancelled")]
    Cancelled,
    /// The system has no more threads.
    #[error("no more threads: {0}")]
    Threads(#[from] io::Error),
    /// No wire and machine of the book can cut it, whatever the passes.
    #[error("{}", self.message())]
    Impossible {
        /// Why the nearest wire and machine cannot.
        reasons: Vec<Shortfall>,
    },
}

impl Error {
    /// Says it.
    pub fn message(&self) -> Message {
        match self {
            Self::Drawing(error) => error.message(),
            Self::Pass(error) => error.message(),
            Self::Demand(error) => error.message(),
            Self::Job(error) => error.message(),
            Self::Tangled { at } => message!(
                "contours meet in more places than are looked for, the first at {}: mend or leave out what crosses, touches or \
                 overlaps; `inspect` places the first 10 000",
                x_and_y(*at)
            ),
            Self::TooDeep {
                contour,
                line,
                at,
                limit,
            } => message!(
                "line {}, {}: contour {} lies within more than {} others, or within the bounds of too many to try; give what is not \
                 cut another use, or put each part into a drawing of its own",
                line,
                x_and_y(*at),
                contour,
                limit
            ),
            Self::Impossible { reasons } => message!("cannot be cut: {}", shortfalls_in_words(reasons)),
            _ => self.to_string().into(),
        }
    }
}

fn x_and_y(at: Point) -> Message {
    message!("x {} y {}", mm(at.x).fixed(4).bare(), mm(at.y).fixed(4).bare())
}

/// A drawing, read, measured and checked.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Inspection {
    /// Base name of the file.
    pub file: String,
    /// The drawing.
    pub drawing: Drawing,
    /// Its contours.
    pub contours: Contours,
    /// What it leaves open.
    pub questions: Questions,
    /// What the checks found, worst first.
    pub findings: Vec<Finding>,
    /// Assumptions, in words.
    pub assumptions: Vec<Message>,
    /// What the wires of the book can do, thinnest first.
    pub wires: Vec<WireReach>,
    /// The rules of the book, which set the limits of the checks.
    pub rules: Rules,
}

/// The offset cutting plan of one drawing.
#[derive(Debug)]
#[non_exhaustive]
pub struct Plan {
    /// The drawing and what all checks found, those of the paths too.
    pub inspection: Inspection,
    /// The book that it was planned with.
    pub book: Book,
    /// The job that it answers.
    pub job: JobFile,
    /// Work, wire and machine, the same for all groups.
    pub setup: Setup,
    /// What is planned for the contours that are cut alike; at least one.
    pub groups: Vec<GroupPlan>,
    /// The parts of the drawing, equal ones together.
    pub parts: DrawnParts,
    /// What is ordered of them.
    pub order: Order,
    /// How the machine threads the wire.
    pub threading: Threading,
    /// The wire-centre paths.
    pub toolpaths: Toolpaths,
    /// How they are cut.
    pub process: Process,
    /// Time, cost and wire of the whole.
    pub estimate: Estimate,
    /// Time of what stands in the order of cutting: the clock goes by it. It is no total where something is left out.
    ordered_time: Option<Time>,
    /// The candidates that were compared: the chosen one first, then other wires and machines, then the same with fewer passes.
    /// Empty where wire and passes were given.
    pub candidates: Vec<Candidate>,
    /// What would bring it nearer to its limits, where that was tried.
    pub remedies: Option<Vec<Remedy>>,
}

fn inspect_source(source: DrawingSource<'_>, book: &Book) -> Result<Inspection, Error> {
    let mut inspection = read(source, book)?;
    inspection.findings = check::run(&inspection.subject(None, Vec::new()), Stage::Contour);
    log::debug!("drawing checked");
    Ok(inspection)
}

/// A drawing and how to read it. Bytes that are given away are gone when it is read.
struct DrawingSource<'a> {
    file: &'a str,
    bytes: Cow<'a, [u8]>,
    reading: &'a Reading,
    uses: &'a Purposes,
}

impl<'a> DrawingSource<'a> {
    const fn new(file: &'a str, bytes: Cow<'a, [u8]>, reading: &'a Reading, uses: &'a Purposes) -> Self {
        Self {
            file,
            bytes,
            reading,
            uses,
        }
    }
}

/// Plans every contour to be cut with given wire and passes.
fn plan_given(
    drawing: DrawingSource<'_>,
    book: &Book,
    job: &JobFile,
    request: &PassRequest,
) -> Result<Plan, Error> {
    let (holding, running) = (job.holding()?, job.running()?);
    // The passes are looked up first: a wrong word should not wait for a large drawing.
    let schedule = pass::schedule(book, request)?;
    let mut inspection = read_untangled(drawing, book)?;
    let resolved = material_assumption(
        &request.material,
        book.material(&request.material).map_err(pass::Error::from)?,
    );
    inspection.assumptions.extend(resolved);
    let given = Demands {
        all: Demand {
            passes: Some(request.passes),
            aim_mm: Some(request.aim_mm),
            ..Demand::default()
        },
        ..Demands::default()
    };
    let sorted = inspection.group_by_demand(&given, book)?;
    let is_slit = |id: &ContourId| inspection.contours[*id].is_one_kerf_wide();
    let (slits, contours): (Vec<ContourId>, Vec<ContourId>) =
        inspection.to_cut().into_iter().partition(is_slit);
    let walls = GroupRequest {
        request: request.clone(),
        schedule,
        rough_only: inspection.loose_parts(&contours, &holding),
        contours,
        requirement: sorted
            .demand_groups
            .iter()
            .find(|group| !group.are_slits)
            .map_or_else(WallRequirement::default, |group| group.requirement.clone()),
        size_mm: sorted.largest_mm(),
    };
    let mut requests = Vec::from_iter(slits_alone(book, request, slits, &sorted)?);
    if requests.is_empty() || !walls.contours.is_empty() {
        requests.insert(0, walls);
    }
    let context = JobContext {
        job: job.clone(),
        work: sorted.work.clone(),
        order: OrderRequest::default().of(sorted.parts.pieces()),
        parts: sorted.parts.clone(),
        pickup_mm: sorted.diagonal_mm(),
        offset_basis: OffsetBasis::default(),
        holding,
        running,
    };
    // What is known of the paths goes at once, so that they are not kept twice.
    let computed = compute(&inspection, book, requests, &context, &mut KnownPaths::default())?;
    Ok(computed.into_plan(inspection, book, context))
}

/// The group of slits: one pass, whatever the others take.
fn slits_alone(
    book: &Book,
    request: &PassRequest,
    slits: Vec<ContourId>,
    sorted: &DemandGroups,
) -> Result<Option<GroupRequest>, Error> {
    let Some(group) = sorted.demand_groups.iter().find(|group| group.are_slits) else {
        return Ok(None);
    };
    let request = PassRequest {
        passes: 1,
        aim_mm: 0.0,
        ..request.clone()
    };
    Ok(Some(GroupRequest {
        schedule: pass::schedule(book, &request)?,
        request,
        requirement: group.requirement.clone(),
        contours: slits,
        rough_only: Vec::new(),
        size_mm: group.size_mm,
    }))
}

impl Plan {
    /// Returns the demand group of a path.
    pub fn group_of(&self, wire: &WireLoop) -> Option<&GroupPlan> {
        self.groups.iter().find(|group| group.group == wire.group)
    }

    /// Returns the pass of a path.
    pub fn pass_of(&self, wire: &WireLoop) -> Option<&Pass> {
        self.group_of(wire)?.pass(wire.pass)
    }

    /// Returns why there is no total and no price, a sentence each; nothing where there are.
    pub fn reasons_without_totals(&self) -> Vec<Message> {
        let paths = self.reasons_without_paths().into_iter().map(Message::from);
        paths
            .chain(self.process.beyond_machine.iter().map(limit_in_words))
            .collect()
    }

    /// Returns what is open and why something that is to be cut has no path, a sentence each.
    pub fn reasons_without_paths(&self) -> Vec<String> {
        let open = match self.inspection.questions.open().count() {
            0 => None,
            1 => Some("1 question is open".to_owned()),
            count => Some(format!("{count} questions are open")),
        };
        // What waits for an answer is told by its question.
        let incomplete = self.toolpaths.incomplete.iter().copied();
        let incomplete: Vec<Incomplete> = incomplete
            .filter(|one| !self.waits_for_answer(one.contour))
            .collect();
        open.into_iter().chain(incomplete_in_words(&incomplete)).collect()
    }

    fn cut_facts(&self) -> CutFacts<'_> {
        CutFacts {
            toolpaths: &self.toolpaths,
            process: &self.process,
            estimate: &self.estimate,
        }
    }

    /// Whether a question about a contour is open.
    pub fn waits_for_answer(&self, contour: ContourId) -> bool {
        let contour = self.inspection.contours.get(contour);
        contour.is_some_and(|contour| contour.side_from == SideFrom::Unclear)
    }

    /// Whether the choice is expected to reach what is called for; so it is where wire and passes were given.
    pub fn reaches_demand(&self) -> bool {
        self.candidates.first().is_none_or(|taken| taken.feasible)
    }

    /// Shift of the finished wall into the material, mm: that of the first group.
    pub fn aim_mm(&self) -> f64 {
        self.groups.first().map_or(0.0, |group| group.request.aim_mm)
    }

    /// Whether its rates are fitted to the shop's own jobs.
    pub fn is_calibrated(&self) -> bool {
        let first = self.groups.first();
        first.is_some_and(|group| group.schedule.calibration.is_some())
    }

    /// Every figure of the job with its terms, in the order in which they are made.
    pub fn figures(&self) -> Vec<&Figure> {
        self.estimate
            .figures(self.groups.iter().map(|group| &group.quality))
    }
}

impl Error {
    fn nothing_to_cut() -> Self {
        Self::Impossible {
            reasons: vec![Shortfall::NothingToCut],
        }
    }
}

impl Inspection {
    /// Returns the numbers of the contours to be cut.
    pub fn to_cut(&self) -> Vec<ContourId> {
        let cut = self.contours.list.iter().filter(|c| c.purpose.is_cut());
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

    /// Those of `contours` that are the outside of a part without a tab: such a part is loose when its rough pass closes.
    fn loose_parts(&self, contours: &[ContourId], holding: &Workholding) -> Vec<ContourId> {
        process::loose_parts(&self.contours, contours, |contour| {
            holding.pieces.on(contour.id, self.layer_of(contour))
        })
    }

    fn subject<'a>(
        &'a self,
        planned: Option<(&'a Toolpaths, &'a Process)>,
        groups: Vec<CheckedGroup<'a>>,
    ) -> Subject<'a> {
        Subject {
            groups,
            drawing: &self.drawing,
            contours: &self.contours,
            questions: &self.questions,
            toolpaths: planned.map(|(toolpaths, _)| toolpaths),
            process: planned.map(|(_, process)| process),
            wires: &self.wires,
            rules: &self.rules,
        }
    }
}

fn too_deep(drawing: &Drawing, contour: &Contour) -> Error {
    Error::TooDeep {
        contour: contour.id,
        line: drawing.curves[contour.curves[0]].origin.line,
        at: contour.polyline.vertices[0].at,
        limit: contour::DEEPEST_NEST,
    }
}

fn at_most(limit: usize, found: usize, what: &'static str) -> Result<(), Error> {
    if found > limit {
        return Err(Error::TooLarge { what, found, limit });
    }
    Ok(())
}

/// Reads what is to be planned: contours of which it is known which lies in which.
fn read_untangled(source: DrawingSource<'_>, book: &Book) -> Result<Inspection, Error> {
    let inspection = read(source, book)?;
    let facts = &inspection.contours.facts;
    if inspection.contours.are_nested() {
        return Ok(inspection);
    }
    let contacts = [&facts.self_crossings, &facts.crossings, &facts.touches]
        .into_iter()
        .flatten();
    let places = contacts
        .map(|contact| contact.at)
        .chain(facts.overlaps.iter().map(|overlap| overlap.from));
    let first = places.min_by(|a, b| (a.x.total_cmp(&b.x)).then(a.y.total_cmp(&b.y)));
    let start = || {
        inspection
            .contours
            .list
            .first()
            .map(|contour| contour.polyline.vertices[0].at)
    };
    Err(Error::Tangled {
        at: first.or_else(start).unwrap_or_default(),
    })
}

fn read(source: DrawingSource<'_>, book: &Book) -> Result<Inspection, Error> {
    let DrawingSource {
        file,
        bytes,
        reading,
        uses,
    } = source;
    let document = dxf::read(&bytes)?;
    log::debug!("tags of {} bytes read", bytes.len());
    drop(bytes);
    let drawing = drawing::from_document(&document, reading)?;
    drop(document);
    log::debug!("{} curves placed", drawing.curves.len());
    let segments = drawing.curves.iter().map(|curve| curve.polyline.segment_count());
    at_most(reading.largest.segments, segments.sum(), "segments")?;
    // A wrong name should not wait for the contours of a large drawing.
    names::missing(&drawing, None, reading)?;
    let mut contours = contour::chain(&drawing, reading, uses);
    at_most(reading.largest.contours, contours.list.len(), "contours")?;
    if let Some(deep) = contours.facts.too_deep {
        return Err(too_deep(&drawing, &contours[deep]));
    }
    let questions = if contours.are_nested() {
        question::find(&drawing, &mut contours, uses, &book.rules)
    } else {
        Questions::default()
    };
    contours.measure_widths();
    contours.facts.names_missing = names::missing(&drawing, Some(&contours), reading)?;
    log::debug!("widths of slots and walls measured");
    let assumptions = contour_assumptions::assumptions(&drawing, &contours.list, &questions, uses);
    let wires = pass::wire_reach(book);
    log::debug!("wires of the book looked through");
    Ok(Inspection {
        file: file.to_owned(),
        drawing,
        contours,
        questions,
        findings: Vec::new(),
        assumptions,
        wires,
        rules: book.rules.clone(),
    })
}
