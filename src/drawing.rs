//! Entities become curves in mm, each with its provenance: units, blocks, extrusions, visibility, splines and
//! ellipses as arcs.

mod census;
mod expand;
mod expanded;
pub mod ignored;
mod inherit;
mod levels;
mod place;
mod shapes;
mod spline;
mod stroke;
#[cfg(test)]
mod tests;
mod trace;
mod unit;
mod walk;

use serde::Serialize;
use thiserror::Error;

use crate::cancel::asked;
use crate::dxf::Document;
use crate::geometry::{Point, Polyline};
use crate::job::Reading;
use crate::message::{Message, message, mm};
use crate::tolerance::FARTHEST_MM;

pub use census::{DEEPEST_NEST, MOST_PLACED};

/// Makes a drawing in mm from a DXF file.
///
/// All visible curves of model space come out as lines and arcs: lines, arcs and bulges exactly, ellipses and
/// splines as tangent-continuous arcs within [`Reading::fit_mm`], blocks expanded. What is not among them is counted
/// in [`Drawing::ignored`], and where a check may have to speak of it, noted in [`Drawing::facts`]. The work is
/// linear in the file and in what its blocks expand to, of which there is a limit ([`MOST_PLACED`]).
///
/// # Errors
/// Where nothing trustworthy can be drawn: see [`enum@Error`]. Every variant states where.
pub fn from_document(document: &Document, reading: &Reading) -> Result<Drawing, Error> {
    if !(reading.fit_mm > 0.0 && reading.fit_mm.is_finite()) {
        return Err(Error::Fit {
            fit_mm: reading.fit_mm,
        });
    }
    let units = unit::choose(&document.header, reading.units.as_ref());
    let (expanded, linetypes) = expand::expand(document, units.factor_to_mm, reading.fit_mm)?;
    let worst = |worst: f64, curve: &Curve| worst.max(curve.fit_deviation_mm);
    Ok(Drawing {
        units,
        insunits: document.header.insunits,
        layers: asked(document.layers.iter()).cloned().collect(),
        linetypes,
        fit_deviation_mm: expanded.curves.iter().fold(0.0, worst),
        curves: expanded.curves,
        ignored: expanded.account.into_rows(),
        texts: expanded.texts,
        points: expanded.points,
        notices: document.notices.clone(),
        facts: expanded.facts,
    })
}

/// Why no drawing can be made.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum Error {
    /// A block inserts itself, directly or through others.
    #[error("line {line}: block `{name}` inserts itself")]
    CyclicBlock {
        /// Line of the INSERT that closes the circle.
        line: usize,
        /// Name of the block.
        name: String,
    },
    /// Blocks in blocks in blocks.
    #[error("line {line}: blocks are nested more than {limit} deep")]
    TooDeep {
        /// Line of the outermost INSERT.
        line: usize,
        /// How deep they may be.
        limit: usize,
    },
    /// The INSERTs together would place too much.
    #[error("line {line}: the blocks inserted up to here expand to {found} pieces; {limit} are accepted")]
    TooMuch {
        /// Line of the INSERT with which it is too much.
        line: usize,
        /// How many pieces.
        found: u64,
        /// How many are accepted.
        limit: u64,
    },
    /// A spline that makes no curve.
    #[error("line {line}: this SPLINE cannot be drawn: {reason}")]
    BadSpline {
        /// Line where it begins.
        line: usize,
        /// What is wrong.
        reason: Message,
    },
    /// A curve so wild that arcs cannot follow it.
    #[error("line {line}: this {entity} needs more arcs than are accepted for one curve; allow a larger fit")]
    Unfittable {
        /// Line where it begins.
        line: usize,
        /// Its type.
        entity: String,
    },
    /// The splines and ellipses together would become too many arcs.
    #[error("line {line}: splines and ellipses up to here become more than {limit} arcs; allow a larger fit")]
    TooManyArcs {
        /// Line of the entity with which it is too much.
        line: usize,
        /// How many are accepted.
        limit: u64,
    },
    /// Coordinates beyond all sense.
    #[error("{}", self.message())]
    TooFar {
        /// Line where it begins.
        line: usize,
        /// Its type.
        entity: String,
        /// How far, mm.
        reach_mm: f64,
    },
    /// No tolerance at all.
    #[error("{}", self.message())]
    Fit {
        /// What wgiven for, mm.
        fit_mm: f64,
    },
}

impl Error {
    /// Says it.
    pub fn message(&self) -> Message {
        match self {
            Self::BadSpline { line, reason } => {
                message!("line {}: this SPLINE cannot be drawn: {}", line, reason)
            }
            Self::TooFar {
                line,
                entity,
                reach_mm,
            } => message!(
                "line {}: this {} reaches {}, more than the {} within which a micrometre can be kept; check the drawing's unit",
                line,
                entity,
                mm(*reach_mm).exponent(),
                mm(FARTHEST_MM).exponent()
            ),
            Self::Fit { fit_mm } => message!("the fit tolerance is {}; it must be above 0", mm(*fit_mm)),
            _ => self.to_string().into(),
        }
    }
}

/// The unit a drawing was read in, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[cfg_attr(not(feature = "internals"), non_exhaustive)]
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
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
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
#[cfg_attr(not(feature = "internals"), non_exhaustive)]
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
#[cfg_attr(not(feature = "internals"), non_exhaustive)]
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
#[cfg_attr(not(feature = "internals"), non_exhaustive)]
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
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
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
#[non_exhaustive]
pub struct PlacedText {
    /// Where.
    pub at: Point,
    /// What it says.
    pub text: String,
    /// Height of its capitals, mm; 0 where the file states none.
    pub height_mm: f64,
    /// Its layer.
    pub layer: u32,
    /// Line of the file.
    pub line: usize,
    /// Handle.
    pub handle: u64,
}

/// A POINT entity, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
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
#[non_exhaustive]
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
#[non_exhaustive]
pub enum CurveFactKind {
    /// Zero length or radius; left out.
    ZeroLength,
    /// A spline given by fit points only: its curve between them is our guess.
    FitPointsOnly,
    /// Not flat: leaves the plane z = const by this much, mm; left out.
    NotFlat(f64),
    /// It lies flat, but not at the height at which most curves do.
    OtherHeight {
        /// Its z, mm.
        height_mm: f64,
        /// The z of most curves, mm.
        usual_mm: f64,
        /// How many curves lie where it does.
        curves: usize,
    },
    /// Invisible, or on a layer that is off or frozen; left out. Length in mm.
    Hidden(f64),
    /// An INSERT that cannot be followed: the reason, in words.
    NotPlaced(String),
    /// An MLINE with breaks, which is drawn without its gaps.
    BreaksLeftOut,
}
