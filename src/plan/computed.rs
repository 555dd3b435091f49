//! One combination of wire, machine and passes from its groups to the plan: paths, process, estimate and checks, a step each.

use std::collections::VecDeque;
use std::sync::Arc;

use super::cut_facts::CutFacts;
use super::group_plan::GroupRequest;
use super::process_assumptions::assumption_in_words;
use super::requirements::Requirements;
use super::selection_input::SelectionInput;
use super::slug_work::slug_work;
use super::{DemandGroups, DrawnParts, Error, GroupPlan, Inspection, Plan, Setup, auxiliary_work, lengths};
use crate::check::{self, Stage};
use crate::contour::{Contour, Role};
use crate::estimate::{self, AuxiliaryWork, CutGroup, Estimate, EstimateInput, GroupQuality, Order, Time};
use crate::id::GroupId;
use crate::job::{JobFile, OffsetBasis, Purpose, StartFrom, StartOptions, WireOptions, Workholding};
use crate::pass::{CornerRun, Group, Pass, Setting};
use crate::process::{self, Process, ProcessInput, RawBlank};
use crate::shop::{Book, Threading};
use crate::toolpath::{self, Toolpaths};

/// What holds for the whole job.
pub(super) struct JobContext {
    pub(super) job: JobFile,
    pub(super) work: AuxiliaryWork,
    pub(super) order: Order,
    pub(super) parts: DrawnParts,
    pub(super) pickup_mm: f64,
    pub(super) offset_basis: OffsetBasis,
    pub(super) holding: Workholding,
    pub(super) running: WireOptions,
}

impl JobContext {
    pub(super) fn of(requirements: &Requirements, sorted: &DemandGroups, input: &SelectionInput<'_>) -> Self {
        Self {
            job: requirements.job.clone(),
            work: sorted.work.clone(),
            order: input.order,
            parts: sorted.parts.clone(),
            pickup_mm: input.pickup_mm,
            offset_basis: requirements.offset_basis,
            holding: requirements.holding.clone(),
            running: requirements.running.clone(),
        }
    }
}

/// A combination of wire, machine and passes with all that follows from its own paths, before it is checked.
pub(super) struct Computed {
    setup: Setup,
    threading: Threading,
    requests: Vec<GroupRequest>,
    toolpaths: Arc<Toolpaths>,
    process: Process,
    estimate: Estimate,
    quality: Vec<GroupQuality>,
    ordered_time: Option<Time>,
}

/// Paths that have been laid, by all that they go by: kinds of wire and machines share them.
#[derive(Default)]
pub(super) struct KnownPaths(VecDeque<(Vec<u64>, Arc<Toolpaths>)>);

/// Most sets of paths that are kept.
const MOST_KEPT: usize = 4;

impl KnownPaths {
    /// The paths of these groups, those that have been laid before where there are some.
    fn lay(&mut self, inspection: &Inspection, groups: &[Group]) -> Arc<Toolpaths> {
        let passes = groups.iter().flat_map(|group| &group.passes);
        let lengths = |pass: &Pass| {
            [
                pass.offset_mm,
                pass.half_kerf_mm,
                pass.spark_gap_mm,
                pass.stock_mm,
            ]
        };
        let of_groups = groups.iter().map(|group| group.passes.len() as u64);
        let key: Vec<u64> = of_groups
            .chain(passes.flat_map(|pass| lengths(pass).map(f64::to_bits)))
            .collect();
        if let Some((_, known)) = self.0.iter().find(|(known, _)| *known == key) {
            return Arc::clone(known);
        }
        let laid = Arc::new(lay_paths(inspection, groups));
        self.0.truncate(MOST_KEPT - 1);
        self.0.push_front((key, Arc::clone(&laid)));
        laid
    }
}

/// Lays the paths of the groups, arranges how they are cut, and estimates them.
pub(super) fn compute(
    inspection: &Inspection,
    book: &Book,
    requests: Vec<GroupRequest>,
    context: &JobContext,
    known: &mut KnownPaths,
) -> Result<Computed, Error> {
    let request = &requests.first().ok_or_else(Error::nothing_to_cut)?.request;
    let (setup, setting) = (Setup::of(request), request.setting(book)?);
    let groups = path_groups(&requests, context, book);
    edge_starts(inspection, book, context)?;
    let toolpaths = known.lay(inspection, &groups);
    let process = arrange(inspection, &groups, context, setting, &setup, book, &toolpaths);
    let made = (&*toolpaths, &process);
    let job = EstimatedJob {
        book,
        setting,
        thickness_mm: setup.thickness_mm,
        groups: &groups,
        cut_groups: cut_groups(&requests, &process),
        work: auxiliary_work::auxiliary_work(
            &context.work,
            &inspection.contours,
            &toolpaths,
            &process,
            setup.thickness_mm,
        ),
    };
    let (estimate, quality) = job.estimate(made, context);
    let ordered_time = job.ordered_time(made, &estimate);
    let threading = setting.machine.threading;
    Ok(Computed {
        setup,
        threading,
        requests,
        toolpaths,
        process,
        estimate,
        quality,
        ordered_time,
    })
}

impl Computed {
    /// Checks the drawing with these paths, and makes the plan of them.
    pub(super) fn into_plan(self, mut inspection: Inspection, book: &Book, context: JobContext) -> Plan {
        assume(&mut inspection, &self.process);
        let made = (&*self.toolpaths, &self.process);
        let checked = self.requests.iter().map(GroupRequest::checked).collect();
        inspection.findings = check::run(&inspection.subject(Some(made), checked), Stage::Path);
        log::debug!("drawing and paths checked");
        let groups = GroupId::numbered(self.requests).zip(self.quality);
        Plan {
            inspection,
            book: book.clone(),
            job: context.job,
            setup: self.setup,
            groups: groups
                .map(|((group, request), quality)| GroupPlan::new(group, request, quality))
                .collect(),
            parts: context.parts,
            order: context.order,
            threading: self.threading,
            toolpaths: Arc::unwrap_or_clone(self.toolpaths),
            process: self.process,
            estimate: self.estimate,
            ordered_time: self.ordered_time,
            candidates: Vec::new(),
            remedies: None,
        }
    }

    /// What is weighed of it.
    pub(super) fn facts(&self) -> CutFacts<'_> {
        CutFacts {
            toolpaths: &self.toolpaths,
            process: &self.process,
            estimate: &self.estimate,
        }
    }
}

/// The groups as the paths are laid by them.
fn path_groups(requests: &[GroupRequest], context: &JobContext, book: &Book) -> Vec<Group> {
    let run_out_mm = book.rules.open_cut.run_out_mm.value();
    let corners = context
        .running
        .sharp_corners
        .map_or_else(CornerRun::default, |limit| CornerRun::Sharp { limit });
    let group = |(group, request): (GroupId, &GroupRequest)| Group {
        group,
        contours: request.contours.clone(),
        rough_only: request.rough_only.clone(),
        passes: request.schedule.passes.clone(),
        tolerance_mm: request.requirement.tolerance_mm(),
        inside_radius_mm: request.requirement.inside_radius_mm,
        corners,
        open_skims: context.running.open_skims,
        run_out_mm,
        overload_limit: book.rules.skim.overload_limit.value(),
    };
    GroupId::numbered(requests).map(group).collect()
}

/// Refuses starts from the edge of the blank where there is none: never for an opening, for a part that lies in another
/// contour, or where nothing says how large the blank is. What is given for many contours holds for those that it can.
fn edge_starts(inspection: &Inspection, book: &Book, context: &JobContext) -> Result<(), Error> {
    let JobContext { holding, running, .. } = context;
    let contours = &inspection.contours;
    let is_edge = |contour: &Contour, ask: StartOptions| {
        let refused = |reason| {
            Err(Error::EdgeStart {
                contour: contour.id,
                reason,
            })
        };
        if ask.from != Some(StartFrom::Edge) || ask.at.is_some() || contour.purpose != Purpose::Cut {
            return Ok(false);
        }
        let named = running
            .starts
            .contours
            .get(&contour.id)
            .is_some_and(|ask| ask.from.is_some());
        match (contour.role, contour.parent) {
            (Role::Outside, None) => Ok(true),
            (Role::Outside, Some(_)) if named => {
                refused("it lies in another contour, not beside the edge of the blank")
            }
            (Role::Opening, _) if named => refused("it is an opening, which is started from a hole"),
            _ => Ok(false),
        }
    };
    for contour in &contours.list {
        let ask = running.starts.on(contour.id, inspection.layer_of(contour));
        if is_edge(contour, ask)? && RawBlank::new(contours, holding, &book.rules.holding).is_none() {
            return Err(Error::EdgeStart {
                contour: contour.id,
                reason: "nothing says where the edge of the blank is (`blank_mm`, `margin_mm`, or a contour whose use is `blank`)",
            });
        }
    }
    Ok(())
}

/// The verified paths.
fn lay_paths(inspection: &Inspection, groups: &[Group]) -> Toolpaths {
    let toolpaths = toolpath::wire_paths(&inspection.contours, groups);
    log::debug!("{} paths laid and verified", toolpaths.loops.len());
    toolpaths
}

/// How the paths are cut: starts, leads, tabs and the order of cutting.
fn arrange(
    inspection: &Inspection,
    groups: &[Group],
    context: &JobContext,
    setting: Setting<'_>,
    setup: &Setup,
    book: &Book,
    toolpaths: &Toolpaths,
) -> Process {
    let (slug_stop_min, coreless_minute_worth) = slug_work(book, setting);
    let input = ProcessInput {
        contours: &inspection.contours,
        groups,
        rules: &book.rules,
        setting: &setting,
        thickness_mm: setup.thickness_mm,
        lead_feed_share: book.times.lead_feed_share.value(),
        slug_stop_min,
        coreless_minute_worth,
        holding: &context.holding,
        running: &context.running,
        layer_of: &|contour| inspection.layer_of(contour),
    };
    let process = process::arrange(&input, toolpaths);
    log::debug!("starts, leads, tabs and order found");
    process
}

/// Adds what is taken for granted of how the wire runs.
fn assume(inspection: &mut Inspection, process: &Process) {
    for words in process.assumptions.iter().copied().map(assumption_in_words) {
        // A drawing that is planned again has them already.
        if !inspection.assumptions.contains(&words) {
            inspection.assumptions.push(words);
        }
    }
}

/// The groups as they are estimated.
fn cut_groups<'a>(requests: &'a [GroupRequest], process: &Process) -> Vec<CutGroup<'a>> {
    let skimmed = |group: GroupId| !process.not_skimmed.iter().any(|part| part.group == group);
    let numbered = GroupId::numbered(requests);
    numbered
        .map(|(group, request)| request.cut_group(group, skimmed(group)))
        .collect()
}

/// What is estimated.
struct EstimatedJob<'a> {
    book: &'a Book,
    setting: Setting<'a>,
    thickness_mm: f64,
    groups: &'a [Group],
    cut_groups: Vec<CutGroup<'a>>,
    work: AuxiliaryWork,
}

impl EstimatedJob<'_> {
    /// Time and cost of the job, and the wall of each group.
    fn estimate(
        &self,
        (toolpaths, process): (&Toolpaths, &Process),
        context: &JobContext,
    ) -> (Estimate, Vec<GroupQuality>) {
        let made = estimate::estimate(EstimateInput {
            book: self.book,
            setting: self.setting,
            thickness_mm: self.thickness_mm,
            groups: &self.cut_groups,
            lengths: &lengths::path_lengths(self.groups, toolpaths),
            work: &self.work,
            order: context.order,
            pickup_mm: context.pickup_mm,
            offset_basis: context.offset_basis,
            room_swing_k: context.job.room_swing_k,
            is_whole: toolpaths.incomplete.is_empty() && process.beyond_machine.is_empty(),
        });
        log::debug!("time, cost and accuracy estimated");
        made
    }

    /// The time of what stands in the order of cutting, for its clock alone.
    fn ordered_time(&self, (toolpaths, _): (&Toolpaths, &Process), whole: &Estimate) -> Option<Time> {
        if whole.time.is_some() {
            return whole.time.clone();
        }
        let lengths = lengths::ordered_lengths(self.groups, toolpaths);
        let Self {
            book,
            setting,
            thickness_mm,
            cut_groups,
            work,
            ..
        } = self;
        let cut = estimate::cut(*thickness_mm, cut_groups, &lengths);
        estimate::time(book, *setting, *thickness_mm, cut_groups, &cut, work)
    }
}
