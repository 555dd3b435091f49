//! How open cuts lie in the material.

use serde::Serialize;

use crate::geometry::Point;
use crate::id::ContourId;
use crate::plan::Plan;
use crate::report::words;
use crate::toolpath::WireLoop;
use crate::units::Band;

/// An open cut.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct OpenCutRow {
    /// Number of the contour.
    contour: ContourId,
    /// What it is for: `slit` or `trim`.
    purpose: &'static str,
    /// Width of a slit for which one is given, mm; else null.
    width_mm: Option<f64>,
    /// Width of its kerf, wire and both spark gaps, mm; null where its pass is not known.
    kerf_mm: Option<f64>,
    /// The same with its band.
    kerf_band_mm: Option<Band>,
    /// How much of its path lies in the material that is kept, mm.
    in_material_mm: f64,
    /// What its path begins and ends in: `air`, `hole` (in the material, at a drawn hole), `waste`, or `blind` (in the material: the wire
    /// backs out along its kerf).
    ends: [&'static str; 2],
    /// Numbers of the edges that it crosses.
    crosses: Vec<ContourId>,
    /// The place given on the side that a trim keeps, mm; null where none is.
    keep_mm: Option<Point>,
    /// Area of what is cut off as drawn, kerf and all, mm²; null of a slit.
    waste_mm2: Option<f64>,
    /// Number of the outline to be cut in whose material it lies; null where that is there already.
    part: Option<ContourId>,
}

/// Returns a row for each open cut that has a path.
pub(super) fn open_cuts(plan: &Plan) -> Vec<OpenCutRow> {
    let rough = plan.toolpaths.loops.iter().filter(|wire| wire.pass.is_rough());
    rough.filter_map(|wire| row(plan, wire)).collect()
}

fn row(plan: &Plan, wire: &WireLoop) -> Option<OpenCutRow> {
    let cut = wire.open.as_ref()?;
    let kerf = plan.kerf_mm(wire);
    Some(OpenCutRow {
        contour: wire.contour,
        purpose: words::purpose(plan.inspection.contours[wire.contour].purpose),
        width_mm: cut.band.as_ref().map(|band| band.width_mm),
        kerf_mm: kerf.map(|kerf| kerf.expected),
        kerf_band_mm: kerf,
        in_material_mm: cut.met_mm,
        ends: cut.ends.map(words::cut_end),
        crosses: cut.crossed.clone(),
        keep_mm: plan.inspection.contours[wire.contour].keep,
        waste_mm2: cut.exact_waste().map(|waste| waste.area().abs()),
        part: cut.part,
    })
}
