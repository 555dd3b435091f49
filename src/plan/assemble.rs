//! From requested groups to the plan: paths, process, estimate and checks, a step each.

use super::group_plan::GroupRequest;
use super::{Error, GroupPlan, Inspection, Plan, Setup, handling, lengths};
use crate::cancel::CancelToken;
use crate::check::{self, Stage};
use crate::estimate::{self, AuxiliaryWork, CutGroup, Estimate, EstimateInput, GroupQuality, Order};
use crate::job::{JobFile, OffsetBasis, WireOptions, Workholding};
use crate::pass::{self, CornerRun, Group};
use crate::path::{self, Paths};
use crate::shop::Book;

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
    let groups = path_groups(&inspection, &requests, &context.options);
    let paths = lay_paths(&inspection, &groups, &context.options, &requests, book)?;
    assume(&mut inspection, &context.options, &groups);
    let (estimate, quality) = estimate_job(book, &setup, &requests, &groups, &paths, &context)?;
    inspection.findings = check::run(&inspection.subject(Some(&paths)), Stage::Path);
    log::debug!("drawing and paths checked");
    Ok(Plan {
        inspection,
        book: book.clone(),
        job: context.job,
        threading: book
            .machine(setup.machine.as_deref())
            .map_err(pass::Error::from)?
            .threading,
        setup,
        groups: (1..)
            .zip(requests)
            .zip(quality)
            .map(|((number, request), quality)| GroupPlan::new(number, request, quality))
            .collect(),
        paths,
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
    let group = |(group, request): (usize, &GroupRequest)| Group {
        group,
        contours: request.contours.clone(),
        rough_only: inspection.loose_parts(&request.contours, &options.holding),
        passes: request.schedule.passes.clone(),
        tolerance_mm: request.requirement.tolerance_mm(),
        inside_radius_mm: request.requirement.inside_radius_mm,
        corners,
    };
    (1..).zip(requests).map(group).collect()
}

/// The verified paths, with starts, leads, tabs and the order of cutting.
fn lay_paths(
    inspection: &Inspection,
    groups: &[Group],
    options: &RunOptions,
    requests: &[GroupRequest],
    book: &Book,
) -> Result<Paths, Error> {
    let mut paths =
        path::wire_paths(&inspection.contours, groups, &options.cancel).ok_or(Error::Cancelled)?;
    log::debug!("{} paths laid and verified", paths.loops.len());
    let request = &requests.first().ok_or_else(Error::nothing_to_cut)?.request;
    let how = (&options.holding, &options.running);
    handling::handle(&mut paths, inspection, groups, request, how, book)?;
    log::debug!("starts, leads, tabs and order found");
    Ok(paths)
}

/// Adds what is taken for granted of how the wire runs.
fn assume(inspection: &mut Inspection, options: &RunOptions, groups: &[Group]) {
    for words in handling::said(&options.running, groups) {
        // A drawing that is planned again has them already.
        if !inspection.assumptions.contains(&words) {
            inspection.assumptions.push(words);
        }
    }
}

/// Time and cost of the job, and the wall of each group.
fn estimate_job(
    book: &Book,
    setup: &Setup,
    requests: &[GroupRequest],
    groups: &[Group],
    paths: &Paths,
    context: &JobContext,
) -> Result<(Estimate, Vec<GroupQuality>), Error> {
    let request = &requests.first().ok_or_else(Error::nothing_to_cut)?.request;
    let skimmed = |group: usize| !paths.not_skimmed.iter().any(|part| part.group == group);
    let cut_groups: Vec<CutGroup<'_>> = (1..)
        .zip(requests)
        .map(|(number, request)| request.cut_group(number, skimmed(number)))
        .collect();
    let made = estimate::estimate(EstimateInput {
        book,
        setting: request.setting(book)?,
        thickness_mm: setup.thickness_mm,
        groups: &cut_groups,
        lengths: &lengths::path_lengths(groups, paths),
        work: &handling::counted(context.work.clone(), paths),
        order: context.order,
        pickup_mm: context.pickup_mm,
        offset_basis: context.offset_basis,
    });
    log::debug!("time, cost and accuracy estimated");
    Ok(made)
}
