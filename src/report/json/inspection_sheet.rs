use serde::Serialize;

use super::SCHEMA;
use crate::gauge::{GaugedSize, PointsLeftOut, ProbeOptions, ProbePoint};
use crate::id::ContourId;
use crate::plan::{CutContour, InspectionSheet, Plan};

/// What `inspection-sheet --json` prints.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct InspectionSheetDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// Base name of the drawing.
    file: &'a str,
    /// The contours that are cut, in their order.
    cut: &'a [CutContour],
    /// The sizes that can be gauged, contour by contour.
    sizes: &'a [GaugedSize],
    /// Numbers of contours that are cut and of which no size is told.
    without_sizes: &'a [ContourId],
    /// How the points are laid.
    probe: ProbeOptions,
    /// The points for a measuring machine, contour by contour.
    points: &'a [ProbePoint],
    /// The points that are left out, contour by contour.
    left_out: &'a [PointsLeftOut],
}

impl<'a> InspectionSheetDocument<'a> {
    pub(super) fn new(plan: &'a Plan, sheet: &'a InspectionSheet) -> Self {
        Self {
            schema: SCHEMA,
            file: &plan.inspection.file,
            cut: &sheet.cut,
            sizes: &sheet.sizes,
            without_sizes: &sheet.without_sizes,
            probe: sheet.probe,
            points: &sheet.points,
            left_out: &sheet.left_out,
        }
    }
}
