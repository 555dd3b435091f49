use serde::Serialize;

use crate::id::{ContourId, GroupId};
use crate::job::Scope;
use crate::plan::WallRequirement;

/// What is asked of the wall of a demand group.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct AskedRow<'a> {
    /// Number of the demand group, from 1.
    group: GroupId,
    /// Numbers of its contours.
    contours: &'a [ContourId],
    /// Roughest Ra, µm; null where none is asked.
    ra_um: Option<f64>,
    /// Lower deviation from nominal, mm; null without a tolerance.
    lower_mm: Option<f64>,
    /// Upper deviation from nominal, mm; null without a tolerance.
    upper_mm: Option<f64>,
    /// Whether the limits are of a size or of a wall.
    limits_of: Option<Scope>,
    /// Shift of the finished wall into the material, mm, signed.
    aim_mm: f64,
    /// Number of passes; null where it is left to the book.
    passes: Option<usize>,
    /// Smallest inside radius that has to come out, mm; null where none is asked.
    inside_radius_mm: Option<f64>,
    /// The last pass that is run, where later ones are left for another time; null where all are.
    stop_after: Option<usize>,
}

impl<'a> AskedRow<'a> {
    pub(super) fn new(group: GroupId, contours: &'a [ContourId], asked: &WallRequirement) -> Self {
        Self {
            group,
            contours,
            ra_um: asked.ra_um,
            lower_mm: asked.limits.map(|(limits, _)| limits.lower_mm),
            upper_mm: asked.limits.map(|(limits, _)| limits.upper_mm),
            limits_of: asked.limits.map(|(_, scope)| scope),
            aim_mm: asked.aim_mm,
            passes: asked.passes,
            inside_radius_mm: asked.inside_radius_mm,
            stop_after: asked.stop_after,
        }
    }
}
