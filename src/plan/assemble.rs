//! From requested groups to the plan: paths, process, estimate and checks, a step each.

use super::group_plan::GroupRequest;
use super::{DrawnParts, Error, GroupPlan, Inspection, Plan, Setup, auxiliary_work, lengths};
use crate::cancel::CancelToken;
use crate::check::{self, Stage};
use crate::contour::{Contour, Role};
use crate::estimate::{self, AuxiliaryWork, CutGroup, Estimate, EstimateInput, GroupQuality, Order};
use crate::id::GroupId;
use crate::job::{JobFile, OffsetBasis, Purpose, StartFrom, StartOptions, WireOptions, Workholding};
use crate::pass::{CornerRun, Group, Setting};
use crate::process::{self, Process, ProcessInput, RawBlank};
use crate::shop::Book;
use crate::toolpath::{self, Toolpaths};

/// How the work is held, how the wire runs, and whether anybody still waits.
#[derive(Clone, Default)]
pub(super) struct RunOptions {
    pub(super) cancel: CancelToken,
    pub(super) holding: Workholding,
    pub(super) running: WireOptions,
}

/// What holds for the whole job.
pub(super) struct JobContext {
    pub(super) job: JobFile,
    pub(super) work: AuxiliaryWork,
    pub(super) order: Order,
    pub(super) parts: DrawnParts,
    pub(super) pickup_mm: f64,
    pub(super) offset_basis: OffsetBasis,
    pub(super) options: RunOptions,
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
    let groups = path_groups(&inspection, &requests, &context.options);
    edge_starts(&inspection, book, &context.options)?;
    let toolpaths = lay_paths(&inspection, &groups, &context.options.cancel)?;
    let process = arrange(
        &inspection,
        &groups,
        &context.options,
        setting,
        &setup,
        book,
        &toolpaths,
    );
    assume(&mut inspection, &context.options, &groups);
    let made = (&toolpaths, &process);
    let (estimate, quality) = estimate_job(book, setting, &setup, &requests, &groups, made, &context);
    let threading = setting.machine.threading;
    inspection.findings = check::run(&inspection.subject(Some(made)), Stage::Path);
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
        candidates: Vec::new(),
    })
}

/// The groups as the paths are laid by them.
fn path_groups(inspection: &Inspection, requests: &[GroupRequest], options: &RunOptions) -> Vec<Group> {
    let corners = options
        .running
        .sharp_corners
        .map_or_else(CornerRun::default, |limit| CornerRun::Sharp { limit });
    let group = |(group, request): (GroupId, &GroupRequest)| Group {
        group,
        contours: request.contours.clone(),
        rough_only: inspection.loose_parts(&request.contours, &options.holding),
        passes: request.schedule.passes.clone(),
        tolerance_mm: request.requirement.tolerance_mm(),
        inside_radius_mm: request.requirement.inside_radius_mm,
        corners,
    };
    GroupId::numbered(requests).map(group).collect()
}

/// Refuses starts from the edge of the blank where there is none: never for an opening, for a part that lies in another
/// contour, or where nothing says how large the blank is. What is given for many contours holds for those that it can.
fn edge_starts(inspection: &Inspection, book: &Book, options: &RunOptions) -> Result<(), Error> {
    let RunOptions { holding, running, .. } = options;
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
        let named = running.contours.get(&contour.id).is_some_and(|ask| ask.from.is_some());
        match (contour.role, contour.parent) {
            (Role::Outside, None) => Ok(true),
            (Role::Outside, Some(_)) if named => refused("it lies in another contour, not beside the edge of the blank"),
            (Role::Opening, _) if named => refused("it is an opening, which is started from a hole"),
            _ => Ok(false),
        }
    };
    for contour in &contours.list {
        let ask = running.on(contour.id, inspection.layer_of(contour));
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
fn lay_paths(inspection: &Inspection, groups: &[Group], cancel: &CancelToken) -> Result<Toolpaths, Error> {
    let toolpaths = toolpath::wire_paths(&inspection.contours, groups, cancel).ok_or(Error::Cancelled)?;
    log::debug!("{} paths laid and verified", toolpaths.loops.len());
    Ok(toolpaths)
}

/// How the paths are cut: starts, leads, tabs and the order of cutting.
fn arrange(
    inspection: &Inspection,
    groups: &[Group],
    options: &RunOptions,
    setting: Setting<'_>,
    setup: &Setup,
    book: &Book,
    toolpaths: &Toolpaths,
) -> Process {
    let input = ProcessInput {
        contours: &inspection.contours,
        groups,
        rules: &book.rules,
        setting: &setting,
        thickness_mm: setup.thickness_mm,
        lead_feed_share: book.times.lead_feed_share.value(),
        holding: &options.holding,
        running: &options.running,
        layer_of: &|contour| inspection.layer_of(contour),
    };
    let process = process::arrange(&input, toolpaths);
    log::debug!("starts, leads, tabs and order found");
    process
}

/// Adds what is taken for granted of how the wire runs.
fn assume(inspection: &mut Inspection, options: &RunOptions, groups: &[Group]) {
    for words in process::assumptions(&options.running, groups) {
        // A drawing that is planned again has them already.
        if !inspection.assumptions.contains(&words) {
            inspection.assumptions.push(words);
        }
    }
}

/// Time and cost of the job, and the wall of each group.
fn estimate_job(
    book: &Book,
    setting: Setting<'_>,
    setup: &Setup,
    requests: &[GroupRequest],
    groups: &[Group],
    (toolpaths, process): (&Toolpaths, &Process),
    context: &JobContext,
) -> (Estimate, Vec<GroupQuality>) {
    let skimmed = |group: GroupId| !process.not_skimmed.iter().any(|part| part.group == group);
    let cut_groups: Vec<CutGroup<'_>> = GroupId::numbered(requests)
        .map(|(group, request)| request.cut_group(group, skimmed(group)))
        .collect();
    let made = estimate::estimate(EstimateInput {
        book,
        setting,
        thickness_mm: setup.thickness_mm,
        groups: &cut_groups,
        lengths: &lengths::path_lengths(groups, toolpaths),
        work: &auxiliary_work::auxiliary_work(&context.work, toolpaths, process),
        order: context.order,
        pickup_mm: context.pickup_mm,
        offset_basis: context.offset_basis,
    });
    log::debug!("time, cost and accuracy estimated");
    made
}
