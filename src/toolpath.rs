//! The wire-centre path of every pass, each loop verified; what the wire cannot reach. Knows nothing of the order of
//! cutting, and nothing of money.

mod refusal;
mod prepared;
mod verify;
mod polygon;
mod offset;
mod corner;
mod reach;
mod stock;
mod neighbours;
mod slit;
mod trim;
mod dividing;
mod incomplete;
mod wide_slit;
mod wire;
#[cfg(test)]
mod offset_cases;
#[cfg(test)]
mod offset_slots;
#[cfg(test)]
mod polygon_cases;

use std::ops::Index;

use serde::Serialize;

use crate::geometry::{Point, Polyline};
use crate::id::{ContourId, GroupId, LoopId, PassNo};

pub use incomplete::{Incomplete, IncompleteReason, without_path};
pub(crate) use offset::Offsets;
pub use offset::{Offset, RefusedOffset, offset};
pub use refusal::RefusalReason;
pub use verify::PathFault;
pub use wire::{loop_lengths_mm, wire_paths};

/// A verified wire-centre loop.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct WireLoop {
    /// Number of the contour.
    pub contour: ContourId,
    /// Demand group.
    pub group: GroupId,
    /// Pass, from 1.
    pub pass: PassNo,
    /// The loop: counter-clockwise outside a part, clockwise inside an opening.
    pub polyline: Polyline,
    /// Its length, mm.
    pub length_mm: f64,
    /// Worst deviation that the verifier measured, mm.
    pub verified_mm: f64,
    /// What proposed it.
    pub proposer: Proposer,
    /// What the wire meets along each segment.
    pub engagement: Vec<Engagement>,
    /// Of an open cut, how it lies in the material; `None` of a loop.
    pub open: Option<OpenCut>,
}

/// How the path of an open cut lies in the material that is kept.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct OpenCut {
    /// What the path begins and ends in.
    pub ends: [CutEnd; 2],
    /// Number of the outline to be cut in whose material it lies.
    pub part: Option<ContourId>,
    /// Numbers of the edges that it crosses.
    pub crossed: Vec<ContourId>,
    /// How much of it lies in the material, mm.
    pub met_mm: f64,
    /// Along the path to where it leaves the material for the last time, mm.
    pub left_mm: f64,
    /// The pass runs the other way than the rough cut: skims go to and fro.
    pub runs_back: bool,
    /// What a trim cuts off, or a slit of a width, as drawn, kerf and all.
    pub waste: Option<Polyline>,
    /// Of a slit of a width, where that lies.
    pub band: Option<SlitBand>,
    /// What drops when the rough pass is cut: of that, or the smaller of the pieces that the cut parts.
    pub offcut: Option<OffcutShape>,
    /// What drops is kept.
    pub kept_drops: bool,
}

impl OpenCut {
    /// Returns what a trim cuts off, as drawn; `None` of a slit, of which that is drawn along chords.
    pub fn exact_waste(&self) -> Option<&Polyline> {
        self.waste.as_ref().filter(|_| self.band.is_none())
    }
}

/// The band that a slit of a width takes.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct SlitBand {
    /// Its width, mm.
    pub width_mm: f64,
    /// How much of its middle lies in the material, mm.
    pub met_mm: f64,
    /// Its middle, from the end at which the wire comes in, longer than the line where that comes out of the material.
    pub middle: Polyline,
}

/// What an open cut cuts off.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct OffcutShape {
    /// Its outline, when the rough kerf is gone.
    pub outline: Polyline,
    /// Its area, less what is no material in it, mm².
    pub area_mm2: f64,
    /// Whether the area is exact; else it is an upper bound.
    pub exact: bool,
}

/// What an end of an open cut lies in, the best place to thread the wire first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum CutEnd {
    /// In air.
    Air,
    /// In the material, at a hole that is drawn.
    Hole,
    /// In waste that is still there.
    Waste,
    /// In the material: the wire backs out along its kerf.
    Blind,
}

/// What proposed a path before the verifier accepted it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Proposer {
    /// The library that keeps arcs: near-exact.
    Arcs,
    /// The line of the drawing itself: an open cut.
    Line,
    /// The polygon library, which knows chords only, and arcs laid along them.
    Polygon,
}

/// What the wire meets along one segment of its path.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Engagement {
    /// Stock met along the wall, summed, per length of path, against the stock meant for the pass: 1 on a straight wall, R/(R − ρ) on
    /// an inside wall of radius R with the wire at offset ρ, R/(R + ρ) outside, more where the pass before left
    /// more. 1 in a rough pass, which is a full slot everywhere.
    pub factor: f64,
    /// Most stock met, square to the wall, mm; `None` in a rough pass.
    pub stock_mm: Option<f64>,
}

/// A place where a skim meets more stock than it is meant to, because the pass before could not follow.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "OverloadRow"))]
#[non_exhaustive]
pub struct Overload {
    /// Number of the contour.
    pub contour: ContourId,
    /// The skim, from 2.
    pub pass: PassNo,
    /// Where on the wall that it leaves, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
    /// Stock met there, mm.
    pub met_mm: f64,
    /// Stock meant, mm.
    pub meant_mm: f64,
}

/// A pass of a contour for which no path passed the verifier.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct PathRefusal {
    /// Number of the contour.
    pub contour: ContourId,
    /// Pass, from 1.
    pub pass: PassNo,
    /// Where the best attempt failed.
    pub at: Point,
    /// Why.
    pub reason: RefusalReason,
}

/// A pass of a contour that needs more than one loop: the wire does not pass a neck, and each region needs a
/// start hole of its own.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "SplitRow"))]
#[non_exhaustive]
pub struct Split {
    /// Number of the contour.
    pub contour: ContourId,
    /// Number of the pass, from 1.
    pub pass: PassNo,
    /// How many loops there are.
    pub loops: usize,
    /// The necks between them, which the wire does not pass.
    pub necks: Vec<Neck>,
}

/// A place too narrow for the wire.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "NeckRow"))]
#[non_exhaustive]
pub struct Neck {
    /// Its middle, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
    /// Its width, mm.
    pub width_mm: f64,
    /// Width that the pass needs, mm: twice the offset.
    #[serde(rename = "needed_mm")]
    pub required_clearance_mm: f64,
}

/// A pass of a contour for which there is no room at all.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "VanishedRow"))]
#[non_exhaustive]
pub struct Vanished {
    /// Number of the contour.
    pub contour: ContourId,
    /// Number of the pass, from 1.
    pub pass: PassNo,
    /// Its roomiest place, and the room there.
    #[serde(flatten)]
    pub neck: Neck,
}

/// The wire on its way round one contour reaches into material that another keeps.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "NeighbourHitRow"))]
#[non_exhaustive]
pub struct NeighbourHit {
    /// Number of the contour that is cut.
    pub contour: ContourId,
    /// The pass that reaches deepest.
    pub pass: PassNo,
    /// Number of the contour that is hit.
    pub neighbour: ContourId,
    /// Where, on the contour that is hit, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
    /// How far the cut reaches across it, mm; the whole reach of the wire when the path crosses it.
    pub overlap_mm: f64,
}

/// A wall between two contours of which nothing is left.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "WallCutRow"))]
#[non_exhaustive]
pub struct WallCut {
    /// Number of the one contour.
    pub contour: ContourId,
    /// Number of the other.
    pub neighbour: ContourId,
    /// Where, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
    /// Thickness of the wall as drawn, mm; 0 where the contours touch or cross.
    pub wall_mm: f64,
    /// What the last passes leave of it, mm; not above zero.
    pub left_mm: f64,
}

/// A place that no path of the last pass reaches.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "UnreachedRow"))]
#[non_exhaustive]
pub struct Unreached {
    /// Number of the contour.
    pub contour: ContourId,
    /// Where: the point of the contour that stays farthest from being cut, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
    /// Area of material left, mm².
    pub area_mm2: f64,
    /// Largest distance of the finished wall from the drawing, mm.
    pub deviation_mm: f64,
    /// What kind of place.
    pub kind: UnreachedKind,
    /// Tolerance asked of the contour, ± mm per wall, where one is.
    #[serde(skip)]
    pub tolerance_mm: Option<f64>,
}

/// Kinds of places that a wire cannot reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum UnreachedKind {
    /// A sharp inside corner.
    SharpCorner,
    /// An inside radius below the offset.
    SmallRadius,
    /// A slot narrower than twice the offset.
    NarrowSlot,
    /// The whole opening or bay vanishes.
    Vanished,
}

/// The wire-centre paths of all passes of a job, and what no path does.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Toolpaths {
    /// The loops of all contours but those that are left out, ordered by contour, then pass.
    pub loops: Vec<WireLoop>,
    /// Contours that cannot be cut as a whole, by number. Where one is left out, none of its passes is run.
    pub incomplete: Vec<Incomplete>,
    /// What no path could be found for.
    pub refusals: Vec<PathRefusal>,
    /// Passes that fall apart into several loops.
    pub splits: Vec<Split>,
    /// Passes without room for the wire.
    pub vanished: Vec<Vanished>,
    /// Where the wire hits what another contour keeps.
    pub hits: Vec<NeighbourHit>,
    /// Walls between contours that are cut away.
    pub walls_cut: Vec<WallCut>,
    /// Places where a skim meets more than it is meant to.
    pub overloads: Vec<Overload>,
    /// Places that the last pass leaves.
    pub unreached: Vec<Unreached>,
}

impl Index<LoopId> for Toolpaths {
    type Output = WireLoop;

    /// Returns the loop of a number that one of these loops bears.
    fn index(&self, id: LoopId) -> &WireLoop {
        &self.loops[id.index()]
    }
}

impl Toolpaths {
    /// Returns why a contour cannot be cut as a whole; `None` where it can.
    pub fn incomplete(&self, contour: ContourId) -> Option<&Incomplete> {
        let found = self
            .incomplete
            .binary_search_by_key(&contour, |incomplete| incomplete.contour);
        found.ok().map(|i| &self.incomplete[i])
    }

    /// Whether a contour that is to be cut is left out of the order of cutting.
    pub fn leaves_out(&self, contour: ContourId) -> bool {
        self.incomplete(contour).is_some_and(Incomplete::is_left_out)
    }

    /// Returns the area of all places that the last pass leaves, mm².
    pub fn unreached_area_mm2(&self) -> f64 {
        self.unreached.iter().map(|place| place.area_mm2).sum()
    }

    /// Returns the contours to be cut that are left out of the order of cutting.
    pub fn left_out(&self) -> impl Iterator<Item = &Incomplete> {
        self.incomplete
            .iter()
            .filter(|incomplete| incomplete.is_left_out())
    }
}
