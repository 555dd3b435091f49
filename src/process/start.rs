//! Where the wire is threaded: starts, and what they go by.

use serde::Serialize;

use super::blank::RawBlank;
use super::entry::EntryPoint;
use crate::geometry::{Point, Vector};
use crate::id::{ContourId, GroupId, LoopId};
use crate::job::Side;
use crate::shop::StartHoleRule;
use crate::tolerance::PATH_MM;

/// What start holes go by.
#[derive(Clone, Copy)]
pub struct Starting<'a> {
    /// The rule of the book.
    pub rule: &'a StartHoleRule,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// The clamped side.
    pub clamp: Option<Side>,
    /// The blank, where it is known.
    pub blank: Option<&'a RawBlank>,
    /// Middles of start holes beside the circles of the drawing.
    pub holes: &'a [Point],
    /// Diameter given for holes that are proposed, mm.
    pub drill_mm: Option<f64>,
    /// Minutes that a millimetre of lead-in takes the rough pass of a group.
    pub lead_min_per_mm: &'a dyn Fn(GroupId) -> f64,
}

/// Where the wire is threaded for one loop of the first pass, and for the later ones of its region.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct Start {
    /// Number of the contour.
    pub contour: ContourId,
    /// Number in [`Toolpaths::loops`](crate::toolpath::Toolpaths::loops) of the first loop that starts here.
    #[serde(skip)]
    pub wire_loop: LoopId,
    /// Where: the middle of the start hole, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
    /// How it came about: `ready` (a hole that is there), `existing-opening` (one that is machined already, in waste), `drawn`, `given`,
    /// proposed in the middle of a circle (`center`), square to a wall (`beside-wall`) or where there is most room (`roomiest`),
    /// `blank-edge`, or `air` (an open cut).
    #[cfg_attr(test, schemars(with = "String"))]
    pub origin: StartOrigin,
    /// Diameter of the hole, mm; of an opening that is there, of the circle that it has room for. Null where the wire comes in from
    /// the edge of the blank or in air.
    pub hole_mm: Option<f64>,
    /// Its hole has to be drilled for this job.
    pub drilled: bool,
    /// The wire comes in from the edge of the blank though that was not asked for, since no hole has room: the frame opens.
    #[serde(skip)]
    pub opens_frame: bool,
    /// Where a hole would make the lead-in shorter; null where none would, and for proposed holes.
    pub shorter: Option<ShorterStart>,
    /// How far the drill may wander over the thickness, mm.
    pub drift_mm: f64,
    /// Distance from the middle of the hole to the nearest wall, mm; no more than it needs is looked for.
    #[serde(rename = "room_mm")]
    pub clearance_mm: f64,
    /// Distance that the hole needs, with the drift of its drill and the clearance of the book, mm.
    #[serde(rename = "needed_mm")]
    pub required_clearance_mm: f64,
    /// Diameter of a hole that the wire threads through, mm.
    #[serde(skip)]
    pub threads_from_mm: f64,
    /// It lies in material that is kept, or in another region than the path.
    #[serde(skip)]
    pub misplaced: bool,
    /// Number of the opening that is there already, from which it starts.
    #[serde(skip)]
    pub(super) bore: Option<ContourId>,
    /// Where the first path is entered; [`super::Leads`] holds the rest.
    #[serde(skip)]
    pub(super) landing: EntryPoint,
}

impl Start {
    /// Where its first path is entered, and the unit direction in which the wire runs on there.
    pub fn entry(&self) -> (Point, Vector) {
        (self.landing.entry, self.landing.along)
    }

    /// Whether its hole, or the drift of its drill, reaches a wall.
    pub fn lacks_room(&self) -> bool {
        self.clearance_mm < self.required_clearance_mm - PATH_MM
    }
}

/// A place for a start hole with a shorter way onto the path.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "ShorterRow"))]
#[non_exhaustive]
pub struct ShorterStart {
    /// Its middle, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
    /// Minutes of lead-in that it would save; the hole has still to be drilled.
    #[serde(rename = "saves_minutes")]
    pub minutes: f64,
}

/// Who says where a start is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum StartOrigin {
    /// A hole that is there already, of the drawing.
    Ready,
    /// An opening on the waste side that is machined already.
    ExistingOpening,
    /// A start hole of the drawing, to be drilled.
    Drawn,
    /// Given with the job.
    Given,
    /// Proposed, in the middle of a circle.
    Center,
    /// Proposed, square to the wall where the path is entered.
    BesideWall,
    /// Proposed, at the roomiest place.
    Roomiest,
    /// From the edge of the blank: as given, or where no hole has room.
    BlankEdge,
    /// Where the path of an open cut begins in air.
    Air,
}

/// All starts.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct Starts {
    /// In the order of the loops.
    pub list: Vec<Start>,
    /// By loop: index in `list` of the start that it is entered from.
    pub of_loop: Vec<usize>,
    /// Drawn or given holes from which no path starts.
    pub unused: Vec<UnusedHole>,
}

/// A start hole from which no path starts.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct UnusedHole {
    /// Its middle.
    pub at: Point,
    /// Number of the contour where it is drawn; `None` of a point.
    pub contour: Option<ContourId>,
    /// Number of the outside contour in whose material it lies.
    pub kept_by: Option<ContourId>,
}

impl Starts {
    /// The middle of the start hole of a loop, and where its first path is entered.
    pub fn place_of(&self, wire_loop: LoopId) -> Option<(Point, Point)> {
        let start = self.list.get(*self.of_loop.get(wire_loop.index())?)?;
        Some((start.at, start.landing.entry))
    }
}
