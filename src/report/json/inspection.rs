use serde::Serialize;

use super::SCHEMA;
use super::question::{QuestionRow, question_rows};
use super::rows::Rows;
use crate::check::{FindingGroup, group_findings};
use crate::contour::{Contour, PurposeFrom, Role, SideFrom, Width};
use crate::drawing::{Ignored, Units};
use crate::finding::Finding;
use crate::geometry::Point;
use crate::id::ContourId;
use crate::job::Purpose;
use crate::message::Message;
use crate::plan::{DrawingTotals, Inspection};
use crate::report::sides::{KeptSide, kept_side, purpose_with_side, side_source};

/// What `inspect --json` prints.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct InspectionDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// Base name of the drawing.
    file: &'a str,
    /// The unit that the drawing was read in.
    units: &'a Units,
    /// What was assumed, a sentence each.
    assumptions: &'a [Message],
    /// Every contour of the drawing.
    contours: Rows<'a, Inspection, ContourRow<'a>>,
    /// What they come to.
    totals: TotalsRow,
    /// What is no cut geometry, counted.
    ignored: &'a [Ignored],
    /// What the drawing leaves open: no path and no price of these contours until each is answered.
    questions: Vec<QuestionRow<'a>>,
    /// What the checks found, a place each.
    findings: &'a [Finding],
    /// The same, gathered: alike findings, and what is found at the same corners, are one.
    finding_groups: Vec<FindingGroup>,
}

/// A contour.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct ContourRow<'a> {
    /// Number, from 1, in the order of the contours' first curves in the drawing.
    id: ContourId,
    /// Layer of its first curve.
    layer: &'a str,
    /// It is a loop.
    closed: bool,
    /// Where it keeps material.
    role: Role,
    /// What it is for, in the first words: a given side stands as `cut`, `not-now` as `existing`, `ready-hole` as `start-hole`, `frame` and
    /// `thread` as `reference`. See `purpose`.
    #[serde(rename = "use")]
    promised_use: Purpose,
    /// What it is for, in the words that a job takes: `part` or `opening` where its side was given.
    purpose: Purpose,
    /// Where that comes from.
    purpose_from: PurposeFrom,
    /// Side of it where material stays; null where a question about it is open, and where it bounds nothing.
    kept_side: Option<KeptSide>,
    /// Where that comes from; null where it bounds nothing.
    side_from: Option<SideFrom>,
    /// How many contours enclose it, of those that bound material if it is one of them, else of its own use.
    depth: usize,
    /// Number of the contour that encloses it directly, counted as for `depth`.
    parent: Option<ContourId>,
    /// Length, mm.
    perimeter_mm: f64,
    /// Enclosed area, mm²; 0 when open.
    area_mm2: f64,
    /// Number of its lines and arcs.
    segments: usize,
    /// Bounds, mm: `[left, bottom, right, top]`.
    bbox_mm: [f64; 4],
    /// Smallest radius that the wire has to go round on the inside of, mm; 0 for a sharp inside corner; null when there is none.
    min_inside_radius_mm: Option<f64>,
    /// Where it is, mm.
    min_inside_radius_at_mm: Option<Point>,
    /// Number of sharp corners that the wire has to go round on the inside of.
    sharp_inside_corners: usize,
    /// Narrowest place between opposite walls on the wire's side; null when there is none.
    narrowest_slot: Option<&'a Width>,
    /// Thinnest place of the material that it bounds, to itself or to another contour; null when there is none.
    thinnest_wall: Option<&'a Width>,
    /// Thickest wire of the book that follows every inside radius and enters the narrowest slot, mm; null when none does, or when it is not cut.
    thickest_wire_mm: Option<f64>,
}

/// Totals of the drawing.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct TotalsRow {
    #[serde(flatten)]
    totals: DrawingTotals,
    /// Largest distance of arcs from the curves that they stand in for, mm.
    fit_deviation_mm: f64,
}

impl<'a> InspectionDocument<'a> {
    /// Makes the same without a row for each contour.
    pub(super) fn without_contours(inspection: &'a Inspection) -> Self {
        Self {
            contours: Rows::none(inspection),
            ..Self::new(inspection)
        }
    }

    pub(super) fn new(inspection: &'a Inspection) -> Self {
        let drawing = &inspection.drawing;
        Self {
            schema: SCHEMA,
            file: &inspection.file,
            units: &drawing.units,
            assumptions: &inspection.assumptions,
            contours: Rows::new(inspection, |inspection| {
                let contours = inspection.contours.list.iter();
                Box::new(contours.map(|contour| contour_row(contour, inspection)))
            }),
            totals: TotalsRow {
                totals: inspection.totals(),
                fit_deviation_mm: drawing.fit_deviation_mm,
            },
            ignored: &drawing.ignored,
            questions: question_rows(inspection),
            findings: &inspection.findings,
            finding_groups: group_findings(&inspection.findings),
        }
    }
}

fn contour_row<'a>(contour: &'a Contour, inspection: &'a Inspection) -> ContourRow<'a> {
    let bounds = contour.bounds;
    ContourRow {
        id: contour.id,
        layer: crate::report::layer_of(contour, &inspection.drawing),
        closed: contour.polyline.closed,
        role: contour.role,
        // A promised word: what is not cut this time was always told as what is there already.
        promised_use: match contour.purpose {
            Purpose::NotNow => Purpose::Existing,
            Purpose::Slit | Purpose::Trim => Purpose::Cut,
            Purpose::ReadyHole => Purpose::StartHole,
            Purpose::Frame | Purpose::Thread => Purpose::Reference,
            purpose => purpose,
        },
        purpose: purpose_with_side(contour),
        purpose_from: contour.purpose_from,
        kept_side: kept_side(contour),
        side_from: side_source(contour),
        depth: contour.depth,
        parent: contour.parent,
        perimeter_mm: contour.perimeter_mm,
        area_mm2: contour.area_mm2,
        segments: contour.polyline.segment_count(),
        bbox_mm: [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y],
        min_inside_radius_mm: contour.min_inside_radius_mm,
        min_inside_radius_at_mm: contour.min_inside_radius_at,
        sharp_inside_corners: contour.sharp_inside_corners.len(),
        narrowest_slot: contour.narrowest_slot.as_deref(),
        thinnest_wall: contour.thinnest_wall.as_deref(),
        thickest_wire_mm: inspection.thickest_wire_mm(contour),
    }
}
