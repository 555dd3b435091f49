//! Describes a job: how to read the drawing, the purpose of each curve, and the requirements of the cut. Does not say
//! how they are met.

mod choice;
mod finish;
mod tolerance;
mod by_contour;
mod demand;
mod key;
mod kind;
mod typed_number;
pub mod length;
mod file;
mod file_names;
mod error;
mod workholding;
mod names;
mod wire_options;
mod purpose;
mod set;
mod word;

use std::collections::BTreeSet;

use crate::tolerance::{FIT_MM, GAP_SEARCH_MM, JOIN_MM};

pub use by_contour::{ByContour, FillFrom};
pub use choice::{Nozzles, OffsetBasis, Prefer};
pub use demand::{Demand, Demands};
pub use error::{DemandError, JobFileError};
pub use file::{JobFile, JobPart, JobPurpose};
pub use finish::Finish;
pub use key::{Absent, Asked, Key, KeyGroup};
pub use names::{GivenName, NameKind};
pub use purpose::{Purpose, Purposes};
pub use tolerance::{Scope, Tolerance, ToleranceKind};
pub use wire_options::{LeadShape, OpenSkims, StartFrom, StartOptions, Stops, WireOptions};
pub use word::{JobWord, UnknownWord};
pub use workholding::{BlankSize, PieceOptions, Side, SlugPolicy, TabFace, TabOptions, Workholding};

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
    /// Runs of short chords are replaced by arcs within this, where given.
    pub refit_mm: Option<f64>,
    /// Names that have to stand for something in the drawing.
    pub names: BTreeSet<GivenName>,
    /// Names that may be missing, since they are given for several drawings at once: a finding reports a missing one.
    pub may_miss: BTreeSet<GivenName>,
    /// Largest drawing that is taken.
    pub largest: DrawingSize,
}

/// How much a drawing may hold once its blocks are expanded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct DrawingSize {
    /// Lines and arcs of all curves.
    pub segments: usize,
    /// Contours.
    pub contours: usize,
}

impl DrawingSize {
    /// Limits a drawing to so many lines and arcs, and so many contours.
    pub const fn new(segments: usize, contours: usize) -> Self {
        Self { segments, contours }
    }
}

impl Default for DrawingSize {
    /// Any.
    fn default() -> Self {
        Self {
            segments: usize::MAX,
            contours: usize::MAX,
        }
    }
}

impl Default for Reading {
    fn default() -> Self {
        Self {
            units: None,
            fit_mm: FIT_MM,
            join_mm: JOIN_MM,
            gap_search_mm: GAP_SEARCH_MM,
            refit_mm: None,
            names: BTreeSet::new(),
            may_miss: BTreeSet::new(),
            largest: DrawingSize::default(),
        }
    }
}
