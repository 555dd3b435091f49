use serde::Serialize;

use super::SCHEMA;
use crate::contour::{Contour, Role};
use crate::drawing::{Drawing, Ignored, Units};
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
                .map(|contour| contour_row(contour, drawing))
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

fn contour_row<'a>(contour: &Contour, drawing: &'a Drawing) -> ContourRow<'a> {
    let bounds = contour.bounds;
    ContourRow {
        id: contour.id,
        layer: crate::report::layer_of(contour, drawing),
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
