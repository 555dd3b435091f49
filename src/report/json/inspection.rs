use serde::Serialize;

use super::SCHEMA;
use crate::contour::{Contour, Role, Width};
use crate::drawing::{Ignored, Units};
use crate::finding::{Finding, Quantity, Severity};
use crate::geometry::Point;
use crate::job::Use;
use crate::plan::Inspection;
use crate::report::totals::Totals;

/// What `inspect --json` prints.
#[derive(Serialize)]
pub(super) struct InspectionDocument<'a> {
    schema: u32,
    file: &'a str,
    units: &'a Units,
    assumptions: &'a [String],
    contours: Vec<ContourRow<'a>>,
    totals: TotalsRow,
    ignored: &'a [Ignored],
    findings: Vec<FindingRow<'a>>,
}

#[derive(Serialize)]
struct ContourRow<'a> {
    id: usize,
    /// Layer of its first curve.
    layer: &'a str,
    closed: bool,
    role: Role,
    #[serde(rename = "use")]
    purpose: Use,
    depth: usize,
    parent: Option<usize>,
    perimeter_mm: f64,
    area_mm2: f64,
    segments: usize,
    bbox_mm: [f64; 4],
    min_inside_radius_mm: Option<f64>,
    min_inside_radius_at_mm: Option<[f64; 2]>,
    sharp_inside_corners: usize,
    narrowest_slot: Option<WidthRow>,
    thinnest_wall: Option<WidthRow>,
    thickest_wire_mm: Option<f64>,
}

/// A local width and the two points that it is measured between.
#[derive(Serialize)]
struct WidthRow {
    width_mm: f64,
    from_mm: [f64; 2],
    to_mm: [f64; 2],
    contours: (usize, usize),
}

#[derive(Serialize)]
struct TotalsRow {
    curve_length_mm: f64,
    closed_contours: usize,
    open_chains: usize,
    cut_perimeter_mm: f64,
    fit_deviation_mm: f64,
}

#[derive(Serialize)]
struct FindingRow<'a> {
    name: &'static str,
    severity: Severity,
    at_mm: Option<[f64; 2]>,
    layer: Option<&'a str>,
    entities: &'a [String],
    line: Option<usize>,
    contour: Option<usize>,
    measured: Option<Quantity>,
    limit: Option<Quantity>,
    message: &'a str,
    remedy: &'a str,
}

impl<'a> InspectionDocument<'a> {
    pub(super) fn new(inspection: &'a Inspection) -> Self {
        let drawing = &inspection.drawing;
        let totals = Totals::of(inspection);
        Self {
            schema: SCHEMA,
            file: &inspection.file,
            units: &drawing.units,
            assumptions: &inspection.assumptions,
            contours: inspection
                .contours
                .list
                .iter()
                .map(|contour| contour_row(contour, inspection))
                .collect(),
            totals: TotalsRow {
                curve_length_mm: totals.curve_length_mm,
                closed_contours: totals.closed_contours,
                open_chains: totals.open_chains,
                cut_perimeter_mm: totals.cut_perimeter_mm,
                fit_deviation_mm: drawing.fit_deviation_mm,
            },
            ignored: &drawing.ignored,
            findings: inspection.findings.iter().map(finding_row).collect(),
        }
    }
}

fn contour_row<'a>(contour: &Contour, inspection: &'a Inspection) -> ContourRow<'a> {
    let bounds = contour.bounds;
    ContourRow {
        id: contour.id,
        layer: crate::report::layer_of(contour, &inspection.drawing),
        closed: contour.polyline.closed,
        role: contour.role,
        purpose: contour.purpose,
        depth: contour.depth,
        parent: contour.parent,
        perimeter_mm: contour.perimeter_mm,
        area_mm2: contour.area_mm2,
        segments: contour.polyline.segment_count(),
        bbox_mm: [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y],
        min_inside_radius_mm: contour.min_inside_radius_mm,
        min_inside_radius_at_mm: contour.min_inside_radius_at.map(pair),
        sharp_inside_corners: contour.sharp_inside_corners.len(),
        narrowest_slot: contour.narrowest_slot.as_deref().map(width_row),
        thinnest_wall: contour.thinnest_wall.as_deref().map(width_row),
        thickest_wire_mm: inspection.thickest_wire_mm(contour),
    }
}

fn width_row(width: &Width) -> WidthRow {
    WidthRow {
        width_mm: width.width_mm,
        from_mm: pair(width.from),
        to_mm: pair(width.to),
        contours: width.contours,
    }
}

fn finding_row(finding: &Finding) -> FindingRow<'_> {
    FindingRow {
        name: finding.name,
        severity: finding.severity,
        at_mm: finding.at.map(pair),
        layer: finding.layer.as_deref(),
        entities: &finding.entities,
        line: finding.line,
        contour: finding.contour,
        measured: finding.measured,
        limit: finding.limit,
        message: &finding.message,
        remedy: &finding.remedy,
    }
}

/// A point as `[x, y]`.
pub(super) fn pair(at: Point) -> [f64; 2] {
    [at.x, at.y]
}
