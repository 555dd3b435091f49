use serde::Serialize;

use crate::job::Scope;
use crate::plan::Asked;

/// What is asked of the wall of a demand group.
#[derive(Serialize)]
pub(super) struct AskedRow<'a> {
    group: usize,
    contours: &'a [usize],
    ra_um: Option<f64>,
    lower_mm: Option<f64>,
    upper_mm: Option<f64>,
    /// Whether the limits are of a size or of a wall.
    limits_of: Option<Scope>,
    aim_mm: f64,
    passes: Option<usize>,
    inside_radius_mm: Option<f64>,
}

impl<'a> AskedRow<'a> {
    pub(super) fn new(group: usize, contours: &'a [usize], asked: &Asked) -> Self {
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
        }
    }
}
