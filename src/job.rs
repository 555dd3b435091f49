//! What is asked: how to read the drawing, what each curve is for, and what the cut must be. Says nothing of
//! how it is done.

mod choice;
mod finish;
mod tolerance;
mod demand;
mod file;
mod unreadable;
mod holding;
mod patience;
mod running;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::tolerance::{FIT_MM, GAP_SEARCH_MM, JOIN_MM};

pub use choice::{Nozzles, OffsetIs, Prefer};
pub use demand::{Demand, DemandError, Demands};
pub use file::{JobFile, JobPart, JobUse};
pub use finish::Finish;
pub use holding::{BlankSize, Holding, PieceAsk, Side, SlugAsk, TabAsk, TabFace};
pub use patience::Patience;
pub use running::{LeadShape, Running, StartAsk, Stops};
pub use tolerance::{Scope, Tolerance, ToleranceKind};
pub use unreadable::JobFileError;

/// What a curve or contour of the drawing is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Use {
    /// To be cut.
    Cut,
    /// Already machined: measured and shown, not cut, but it bounds material.
    Existing,
    /// A hole to thread the wire through.
    StartHole,
    /// The outline of the blank.
    Blank,
    /// Shown for orientation only (centre lines, notes).
    Reference,
    /// Left out altogether.
    Ignore,
}

/// How to read the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Millimetres per drawing unit and the unit's name, where the user overrides the drawing.
    pub units: Option<crate::units::Unit>,
    /// Largest deviation of arcs that stand in for splines and ellipses.
    pub fit_mm: f64,
    /// Ends this close are one vertex.
    pub join_mm: f64,
    /// Unjoined ends look this far for a partner.
    pub gap_search_mm: f64,
    /// Replace runs of short chords by arcs within this, where asked.
    pub refit_mm: Option<f64>,
}

impl Default for Reading {
    fn default() -> Self {
        Self {
            units: None,
            fit_mm: FIT_MM,
            join_mm: JOIN_MM,
            gap_search_mm: GAP_SEARCH_MM,
            refit_mm: None,
        }
    }
}

/// What each curve is for. The first rule that speaks wins: contour number, layer, `cut_layers`, linetype
/// and colour; else linetype custom (centre, hidden and phantom lines are not cut); else [`Use::Cut`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Uses {
    /// By contour number, as `inspect` prints it.
    pub contours: BTreeMap<usize, Use>,
    /// By layer name, without case.
    pub layers: BTreeMap<String, Use>,
    /// When not empty, every layer not named here (or in `layers`) is [`Use::Reference`].
    pub cut_layers: Vec<String>,
    /// By linetype name, without case.
    pub linetypes: BTreeMap<String, Use>,
    /// By colour number.
    pub colors: BTreeMap<i32, Use>,
    /// Full circles to be cut that are smaller across than this are start holes, mm.
    pub start_holes_under_mm: Option<f64>,
}
