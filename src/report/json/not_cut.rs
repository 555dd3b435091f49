//! What no path does: passes that were refused, necks, places that are not reached, walls that go.

use serde::Serialize;

use super::inspection::pair;
use super::rows::Rows;
use crate::check::path_words::{incomplete_sentence, refusal_in_words};
use crate::id::{ContourId, PassNo};
use crate::message::Message;
use crate::toolpath::{
    Incomplete, Neck, NeighbourHit, Overload, PathRefusal, Split, Toolpaths, Unreached, UnreachedKind,
    Vanished, WallCut,
};

/// A pass of a contour for which no path passed the verifier.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "RefusedRow"))]
pub(super) struct RefusedPathRow {
    /// Number of the contour.
    contour: ContourId,
    /// Number of the pass, from 1.
    pass: PassNo,
    /// Where the best attempt failed, mm.
    at_mm: [f64; 2],
    /// Why, in words.
    reason: Message,
}

/// A contour to be cut that is left out of the order of cutting.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct LeftOutRow {
    /// Number of the contour.
    contour: ContourId,
    /// Why, in words.
    reason: String,
}

/// A pass of a contour that needs more than one loop, each with a start hole of its own.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct SplitRow {
    /// Number of the contour.
    contour: ContourId,
    /// Number of the pass, from 1.
    pass: PassNo,
    /// How many loops there are.
    loops: usize,
    /// The necks between them, which the wire does not pass.
    necks: Vec<NeckRow>,
}

/// A pass of a contour for which there is no room at all, with its roomiest place.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct VanishedRow {
    /// Number of the contour.
    contour: ContourId,
    /// Number of the pass, from 1.
    pass: PassNo,
    #[serde(flatten)]
    roomiest: NeckRow,
}

/// A place too narrow for the wire.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[expect(clippy::struct_field_names, reason = "each field bears its unit")]
struct NeckRow {
    /// Its middle, mm.
    at_mm: [f64; 2],
    /// Its width, mm.
    width_mm: f64,
    /// Width that the pass needs, mm.
    needed_mm: f64,
}

/// The wire reaches into what another contour keeps.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct NeighbourHitRow {
    /// Number of the contour that is cut.
    contour: ContourId,
    /// The pass that reaches deepest.
    pass: PassNo,
    /// Number of the contour that is hit.
    neighbour: ContourId,
    /// Where, on the contour that is hit, mm.
    at_mm: [f64; 2],
    /// How far the cut reaches across it, mm; the whole reach of the wire when the path crosses it.
    overlap_mm: f64,
}

/// A wall between two contours of which nothing is left.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct WallCutRow {
    /// Number of the one contour.
    contour: ContourId,
    /// Number of the other.
    neighbour: ContourId,
    /// Where, mm.
    at_mm: [f64; 2],
    /// Thickness of the wall as drawn, mm; 0 where the contours touch or cross.
    wall_mm: f64,
    /// What the last passes leave of it, mm; not above zero.
    left_mm: f64,
}

/// A skim that meets more stock than it is meant to.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct OverloadRow {
    /// Number of the contour.
    contour: ContourId,
    /// The skim, from 2.
    pass: PassNo,
    /// Where on the wall that it leaves, mm.
    at_mm: [f64; 2],
    /// Stock met there, mm.
    met_mm: f64,
    /// Stock meant, mm.
    meant_mm: f64,
}

/// A place that no path of the last pass reaches.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct UnreachedRow {
    /// Number of the contour.
    contour: ContourId,
    /// The point of the contour that stays farthest from being cut, mm.
    at_mm: [f64; 2],
    /// Area of material left, mm².
    area_mm2: f64,
    /// Largest distance of the finished wall from the drawing, mm.
    deviation_mm: f64,
    /// What kind of place.
    kind: UnreachedKind,
}

pub(super) const fn refused(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, RefusedPathRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.refusals.iter().map(refused_row))
    })
}

pub(super) const fn left_out(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, LeftOutRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.left_out().map(left_out_row))
    })
}

fn left_out_row(left_out: &Incomplete) -> LeftOutRow {
    LeftOutRow {
        contour: left_out.contour,
        reason: incomplete_sentence(*left_out),
    }
}

pub(super) const fn splits(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, SplitRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.splits.iter().map(split_row))
    })
}

fn split_row(split: &Split) -> SplitRow {
    SplitRow {
        contour: split.contour,
        pass: split.pass,
        loops: split.loops,
        necks: split.necks.iter().map(neck_row).collect(),
    }
}

pub(super) const fn vanished(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, VanishedRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.vanished.iter().map(vanished_row))
    })
}

fn vanished_row(vanished: &Vanished) -> VanishedRow {
    VanishedRow {
        contour: vanished.contour,
        pass: vanished.pass,
        roomiest: neck_row(&vanished.neck),
    }
}

pub(super) const fn neighbour_hits(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, NeighbourHitRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.hits.iter().map(hit_row))
    })
}

pub(super) const fn walls_cut(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, WallCutRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.walls_cut.iter().map(wall_row))
    })
}

pub(super) const fn overloads(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, OverloadRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.overloads.iter().map(overload_row))
    })
}

pub(super) const fn unreached(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, UnreachedRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.unreached.iter().map(unreached_row))
    })
}

fn unreached_row(place: &Unreached) -> UnreachedRow {
    UnreachedRow {
        contour: place.contour,
        at_mm: pair(place.at),
        area_mm2: place.area_mm2,
        deviation_mm: place.deviation_mm,
        kind: place.kind,
    }
}

fn refused_row(refusal: &PathRefusal) -> RefusedPathRow {
    RefusedPathRow {
        contour: refusal.contour,
        pass: refusal.pass,
        at_mm: pair(refusal.at),
        reason: refusal_in_words(refusal.reason),
    }
}

fn hit_row(hit: &NeighbourHit) -> NeighbourHitRow {
    NeighbourHitRow {
        contour: hit.contour,
        pass: hit.pass,
        neighbour: hit.neighbour,
        at_mm: pair(hit.at),
        overlap_mm: hit.overlap_mm,
    }
}

fn wall_row(wall: &WallCut) -> WallCutRow {
    WallCutRow {
        contour: wall.contour,
        neighbour: wall.neighbour,
        at_mm: pair(wall.at),
        wall_mm: wall.wall_mm,
        left_mm: wall.left_mm,
    }
}

fn overload_row(overload: &Overload) -> OverloadRow {
    OverloadRow {
        contour: overload.contour,
        pass: overload.pass,
        at_mm: pair(overload.at),
        met_mm: overload.met_mm,
        meant_mm: overload.meant_mm,
    }
}

fn neck_row(neck: &Neck) -> NeckRow {
    NeckRow {
        at_mm: pair(neck.at),
        width_mm: neck.width_mm,
        needed_mm: neck.required_clearance_mm,
    }
}
