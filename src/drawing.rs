//! Entities become curves in mm, each with its provenance: units, blocks, extrusions, visibility, splines and
//! ellipses as arcs.

use serde::Serialize;

use crate::geometry::{Point, Polyline};

/// A unit of length.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Unit {
    /// Its name: `mm`, `inch`, …
    pub name: &'static str,
    /// Millimetres in one of it.
    pub factor_to_mm: f64,
}

/// The unit a drawing was read in, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Units {
    /// Its name.
    pub name: &'static str,
    /// Millimetres in one of it.
    pub factor_to_mm: f64,
    /// Where it comes from.
    pub source: UnitsSource,
}

/// Where the unit comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum UnitsSource {
    /// `$INSUNITS` in the drawing.
    Drawing,
    /// The user said so.
    Option,
    /// `$INSUNITS` is absent, 0 or of no meaning; `$MEASUREMENT` was followed.
    Measurement,
    /// Nothing says; millimetres were assumed.
    Assumed,
}

/// A drawing in mm: all visible curves of model space, and the account of what is not among them.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// The unit it was read in.
    pub units: Units,
    /// The value of `$INSUNITS`, when present.
    pub insunits: Option<i32>,
    /// Layers, as in the file; curves refer to them by index.
    pub layers: Vec<crate::dxf::document::Layer>,
    /// Linetype names; curves refer to them by index, already resolved through layer and block.
    pub linetypes: Vec<String>,
    /// The curves, in file order.
    pub curves: Vec<Curve>,
    /// What was not taken, by type and reason, with counts and the first place.
    pub ignored: Vec<Ignored>,
    /// Texts and their places, mm: they may say what the drawing does not.
    pub texts: Vec<PlacedText>,
    /// Single points (POINT entities), mm, with their layer.
    pub points: Vec<PlacedPoint>,
    /// What the reader accepted or passed over.
    pub notices: Vec<crate::dxf::document::Notice>,
    /// Facts about single curves that a check may speak of.
    pub facts: Vec<CurveFact>,
    /// Largest measured deviation of arcs from the splines and ellipses that they stand in for, mm.
    pub fit_deviation_mm: f64,
}

/// A curve of the drawing.
#[derive(Clone, Debug)]
pub struct Curve {
    /// Lines and arcs, mm. A closed entity (circle, closed polyline, full ellipse) is a closed polyline.
    pub polyline: Polyline,
    /// Length as drawn, mm: closed form, or quadrature for splines and ellipses.
    pub length_mm: f64,
    /// Largest measured deviation of `polyline` from the curve as drawn, mm; 0 when exact.
    pub fit_deviation_mm: f64,
    /// Where it comes from.
    pub origin: Origin,
}

/// Where a curve comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Origin {
    /// Entity type.
    pub entity: &'static str,
    /// Index into [`Drawing::layers`].
    pub layer: u32,
    /// Index into [`Drawing::linetypes`].
    pub linetype: u32,
    /// Colour number, resolved.
    pub color: i32,
    /// Handle of the entity (within a block: of the entity in the block); 0 when absent.
    pub handle: u64,
    /// Handle of the outermost INSERT that placed it; 0 when none.
    pub insert_handle: u64,
    /// Line of the file.
    pub line: usize,
}

/// Things that were not taken as cut geometry.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ignored {
    /// Entity type.
    #[serde(rename = "type")]
    pub kind: String,
    /// How many.
    pub count: usize,
    /// Why.
    pub reason: String,
    /// Line of the file where the first one begins.
    pub first_line: usize,
}

/// A text and where it stands, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedText {
    /// Where.
    pub at: Point,
    /// What it says.
    pub text: String,
    /// Its layer.
    pub layer: u32,
    /// Line of the file.
    pub line: usize,
    /// Handle.
    pub handle: u64,
}

/// A POINT entity, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacedPoint {
    /// Where.
    pub at: Point,
    /// Its layer.
    pub layer: u32,
    /// Handle.
    pub handle: u64,
}

/// Something about one curve.
#[derive(Clone, Debug, PartialEq)]
pub struct CurveFact {
    /// What.
    pub kind: CurveFactKind,
    /// Where, mm.
    pub at: Point,
    /// Where it comes from.
    pub origin: Origin,
}

/// The kinds of [`CurveFact`].
#[derive(Clone, Debug, PartialEq)]
pub enum CurveFactKind {
    /// Zero length or radius; left out.
    ZeroLength,
    /// A spline given by fit points only: its curve between them is our guess.
    FitPointsOnly,
    /// Not flat: leaves the plane z = const by this much, mm; left out.
    NotFlat(f64),
    /// On a layer that is off or frozen; left out. Length in mm.
    Hidden(f64),
}
