//! What the curves of a drawing are for.

use std::collections::BTreeMap;

use super::word::words;
use crate::geometry::Point;
use crate::id::ContourId;

/// What a curve or contour of the drawing is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(
    test,
    derive(schemars::JsonSchema),
    schemars(rename = "Use", rename_all = "kebab-case")
)]
#[non_exhaustive]
pub enum Purpose {
    /// To be cut; the side that stays follows from the edges around it.
    Cut,
    /// To be cut: the material inside stays.
    Part,
    /// To be cut: the material outside stays.
    Opening,
    /// An open line along which the wire runs; material stays on both sides of its kerf.
    Slit,
    /// An open line of which one side stays; the wire runs on the other and cuts off what is there.
    Trim,
    /// Already machined: measured and shown, not cut, but it bounds material.
    Existing,
    /// Not cut this time: measured and shown, and it bounds material.
    NotNow,
    /// A hole to thread the wire through, still to be made.
    StartHole,
    /// A hole to thread the wire through that is there already.
    ReadyHole,
    /// The outline of the blank.
    Blank,
    /// Frame or title block of the sheet: bounds nothing.
    Frame,
    /// Symbol of a tapped hole.
    Thread,
    /// Shown for orientation only (centre lines, notes).
    Reference,
    /// Left out altogether.
    Ignore,
}

words!(Purpose:
    "cut" => Cut, "part" => Part, "opening" => Opening, "slit" => Slit, "trim" => Trim, "existing" => Existing, "not-now" => NotNow, "start-hole" => StartHole,
    "ready-hole" => ReadyHole, "blank" => Blank, "frame" => Frame, "thread" => Thread, "reference" => Reference,
    "ignore" => Ignore);

impl Purpose {
    /// Whether material ends at a closed curve of this purpose.
    pub const fn is_edge(self) -> bool {
        match self {
            Self::Cut | Self::Part | Self::Opening | Self::Existing | Self::NotNow => true,
            Self::Slit
            | Self::Trim
            | Self::StartHole
            | Self::ReadyHole
            | Self::Blank
            | Self::Frame
            | Self::Thread
            | Self::Reference
            | Self::Ignore => false,
        }
    }

    /// Whether a contour of it is to be cut.
    pub const fn is_cut(self) -> bool {
        matches!(self, Self::Cut | Self::Part | Self::Opening) || self.is_open_cut()
    }

    /// Whether it is one of open lines that are cut.
    pub const fn is_open_cut(self) -> bool {
        matches!(self, Self::Slit | Self::Trim)
    }

    /// Whether it says which side of a contour stays.
    pub const fn is_side(self) -> bool {
        matches!(self, Self::Part | Self::Opening)
    }
}

/// The purpose of each curve. The first rule that applies wins: contour number, layer, `cut_layers`, linetype
/// and colour; else linetype custom (centre, hidden and phantom lines are not cut); else [`Purpose::Cut`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Purposes {
    /// By contour number, as `inspect` prints it.
    pub contours: BTreeMap<ContourId, Purpose>,
    /// By layer name, without case.
    pub layers: BTreeMap<String, Purpose>,
    /// When not empty, every layer not named here (or in `layers`) is [`Purpose::NotNow`], but for curves whose linetype shows no edge.
    pub cut_layers: Vec<String>,
    /// By linetype name, without case.
    pub linetypes: BTreeMap<String, Purpose>,
    /// By colour number.
    pub colors: BTreeMap<i32, Purpose>,
    /// A place on the side that a trim keeps, by contour number.
    pub keeps: BTreeMap<ContourId, Point>,
    /// The same by layer name, without case.
    pub layer_keeps: BTreeMap<String, Point>,
    /// The width of a slit, by contour number, mm.
    pub widths_mm: BTreeMap<ContourId, f64>,
    /// The same by layer name, without case.
    pub layer_widths_mm: BTreeMap<String, f64>,
    /// Full circles to be cut that are smaller across than this are start holes, mm.
    pub start_holes_under_mm: Option<f64>,
    /// Every question that the drawing leaves open is answered by its first reading.
    pub assume_sides: bool,
}
