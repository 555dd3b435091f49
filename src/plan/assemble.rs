//! From requested groups to the plan: paths, process, estimate and checks, a step each.

use super::group_plan::GroupRequest;
use super::process_assumptions::assumption_in_words;
use super::slug_work::slug_work;
use super::{DrawnParts, Error, GroupPlan, Inspection, Plan, Setup, auxiliary_work, lengths};
use crate::cancel::CancelToken;
use crate::check::{self, Stage};
use crate::contour::{Contour, Role};
use crate::estimate::{self, AuxiliaryWork, CutGroup, Estimate, EstimateInput, GroupQuality, Order, Time};
use crate::id::GroupId;
use crate::job::{JobFile, OffsetBasis, Purpose, StartFrom, StartOptions, WireOptions, Workholding};
use crate::pass::{CornerRun, Group, Setting};
use crate::process::{self, Process, ProcessInput, RawBlank};
use crate::shop::Book;
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
    /// Whether anybody still waits.
    pub(super) cancel: CancelToken,
}

/// Plans the groups: paths, process, estimate, checks.
pub(super) fn assemble(
    mut inspection: Inspection,
    book: &Book,
    setup: Setup,
    requests: Vec<GroupRequest>,
    context: JobContext,
) -> Result<Plan, Error> {
    let request = &requests.first().ok_or_else(Error::nothing_to_cut)?.request;
    let setting = request.setting(book)?;
    let groups = path_groups(&requests, &context);
    edge_starts(&inspection, book, &context)?;
    let toolpaths = lay_paths(&inspection, &groups, &context)?;
    let process = arrange(&inspection, &groups, &context, setting, &setup, book, &toolpaths);
    assume(&mut inspection, &process);
    let made = (&toolpaths, &process);
    let job = EstimatedJob {
        book,
        setting,
        thickness_mm: setup.thickness_mm,
        groups: &groups,
        cut_groups: cut_groups(&requests, &process),
        work: auxiliary_work::auxiliary_work(&context.work, &inspection.contours, &toolpaths, &process),
    };
    let (estimate, quality) = job.estimate(made, &context);
    let ordered_time = job.ordered_time(made, &estimate);
    let threading = setting.machine.threading;
    let checked = requests.iter().map(GroupRequest::checked).collect();
    inspection.findings = check::run(&inspection.subject(Some(made), checked), Stage::Path);
    log::debug!("drawing and paths checked");
    Ok(Plan {
        inspection,
        book: book.clone(),
        job: context.job,
        threading,
        setup,
        groups: GroupId::numbered(requests)
            .zip(quality)
            .map(|((group, request), quality)| GroupPlan::new(group, request, quality))
            .collect(),
        parts: context.parts,
        order: context.order,
        toolpaths,
        process,
        estimate,
        ordered_time,
        candidates: Vec::new(),
    })
}

/// The groups as the paths are laid by them.
fn path_groups(requests: &[GroupRequest], context: &JobContext) -> Vec<Group> {
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
fn lay_paths(inspection: &Inspection, groups: &[Group], context: &JobContext) -> Result<Toolpaths, Error> {
    let toolpaths = toolpath::wire_paths(&inspection.contours, groups, &context.cancel);
    let toolpaths = toolpaths.ok_or(Error::Cancelled)?;
    log::debug!("{} paths laid and verified", toolpaths.loops.len());
    Ok(toolpaths)
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
        let cut = estimate::cut(book, setting.wire, *thickness_mm, cut_groups, &lengths);
        estimate::time(book, *setting, *thickness_mm, cut_groups, &cut, work)
    }
}
