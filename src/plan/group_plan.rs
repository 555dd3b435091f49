//! What is planned for contours that are cut alike, and what is the same for all of them.

use super::WallRequirement;
use crate::check::CheckedGroup;
use crate::estimate::{CutGroup, GroupQuality, Verdict};
use crate::id::{ContourId, GroupId, PassNo};
use crate::job::Nozzles;
use crate::pass::{Pass, PassRequest, Schedule};

/// Work, wire and machine.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Setup {
    /// Name of the material.
    pub material: String,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind; the default one of the book when `None`.
    pub wire_kind: Option<String>,
    /// Machine; the default one of the book when `None`.
    pub machine: Option<String>,
    /// How the nozzles sit.
    pub nozzles: Nozzles,
}

impl Setup {
    /// That of a request.
    pub(super) fn of(request: &PassRequest) -> Self {
        Self {
            material: request.material.clone(),
            thickness_mm: request.thickness_mm,
            wire_mm: request.wire_mm,
            wire_kind: request.wire_kind.clone(),
            machine: request.machine.clone(),
            nozzles: request.nozzles,
        }
    }
}

/// A demand group that is to be planned.
pub(super) struct GroupRequest {
    pub(super) request: PassRequest,
    pub(super) schedule: Schedule,
    pub(super) requirement: WallRequirement,
    pub(super) contours: Vec<ContourId>,
    /// Those of them that are only roughed, since they would be skimmed loose.
    pub(super) rough_only: Vec<ContourId>,
    /// Largest size in it, mm.
    pub(super) size_mm: f64,
}

impl GroupRequest {
    pub(super) fn checked(&self) -> CheckedGroup<'_> {
        CheckedGroup {
            contours: &self.contours,
            schedule: &self.schedule,
            aim_mm: self.request.aim_mm,
            limits: self.requirement.limits,
        }
    }

    pub(super) fn cut_group(&self, group: GroupId, skimmed: bool) -> CutGroup<'_> {
        CutGroup {
            group,
            schedule: &self.schedule,
            size_mm: self.size_mm,
            skimmed,
        }
    }
}

/// What is planned for contours that are cut alike.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct GroupPlan {
    /// Number, from 1.
    pub group: GroupId,
    /// What its passes were looked up for.
    pub request: PassRequest,
    /// Its passes, rough first, and how each of their figures came about.
    pub schedule: Schedule,
    /// What the print calls for of its walls.
    pub requirement: WallRequirement,
    /// Numbers of its contours.
    pub contours: Vec<ContourId>,
    /// The wall that it gets.
    pub quality: GroupQuality,
}

impl GroupPlan {
    pub(super) fn new(group: GroupId, request: GroupRequest, quality: GroupQuality) -> Self {
        let GroupRequest {
            request,
            schedule,
            requirement,
            contours,
            rough_only: _,
            size_mm: _,
        } = request;
        Self {
            group,
            request,
            schedule,
            requirement,
            contours,
            quality,
        }
    }

    /// Its passes, rough first.
    pub fn passes(&self) -> &[Pass] {
        &self.schedule.passes
    }

    /// Returns a pass by its number; `None` where it has no such pass.
    pub fn pass(&self, pass: PassNo) -> Option<&Pass> {
        self.schedule.pass(pass)
    }

    /// Returns what may be said of its walls before measuring (ISO 14253-1); `None` where no limits are called for, or a path
    /// is missing.
    pub fn verdict(&self) -> Option<Verdict> {
        let (limits, scope) = self.requirement.limits?;
        let accuracy = self.quality.accuracy.as_ref()?;
        Some(accuracy.against(limits, scope, self.requirement.off_middle_mm))
    }
}
