use serde::Serialize;

use super::inspection::pair;
use super::rows::Vertices;
use crate::check::path_words::{not_coreless_in_words, weighed_in_words};
use crate::geometry::Bounds;
use crate::id::ContourId;
use crate::job::{Side, TabFace};
use crate::message::Message;
use crate::process::{BlankOrigin, Coreless, PieceKind, RawBlank, Separation, Tab};

/// One piece that comes free.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct SeparationRow<'a> {
    /// Number of the contour.
    contour: ContourId,
    /// `part` or `slug`.
    piece: &'static str,
    /// Its area seen from above, less what was cut from it before, mm².
    area_mm2: f64,
    /// Its mass, kg.
    mass_kg: f64,
    /// False: area and mass are upper bounds, since an edge could not be verified.
    exact: bool,
    /// The larger side of its bounds, mm.
    across_mm: f64,
    /// Its centre of area, mm; holes in it are left aside.
    centroid_mm: [f64; 2],
    /// Its outlines, more than one where it falls apart: `[x, y, bulge]`, mm, as in `paths`.
    outlines: Vec<Vertices<'a>>,
    /// It could enter the lower nozzle.
    may_jam: bool,
    /// It is lifted with help.
    lift_with_help: bool,
    /// How it comes free: `stop` or `coreless`.
    removal: &'static str,
    /// The tab that holds it; null without one.
    tab: Option<TabRow>,
    /// What stays uncut of the rough path until the attended stop of a piece without a tab; null with one, and where it
    /// is cleared away.
    last_stretch: Option<TabRow>,
    /// What becomes of the face where the tab of a part stood; null for a slug and without a tab.
    tab_face: Option<TabFace>,
    /// How it is cleared away; null where it is taken out.
    coreless: Option<CorelessRow<'a>>,
    /// Why it is not cleared away, where that was wanted.
    not_coreless: Option<Message>,
    /// Why it is removed in that way, with the minutes and the cost of clearing it away against those of a stop; null where
    /// only one of the two is possible.
    removal_reason: Option<String>,
}

/// A tab, or a last stretch.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct TabRow {
    /// Where it begins, along the rough path from its first vertex, mm.
    from_mm: f64,
    /// Its length along the path, mm.
    length_mm: f64,
    /// Length that the piece asks for, mm.
    needed_mm: f64,
    /// Its middle, mm.
    at_mm: [f64; 2],
    /// It stands on a straight.
    on_straight: bool,
}

/// How a slug is cleared away.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct CorelessRow<'a> {
    /// How many rings there are before the rough path.
    rings: usize,
    /// Length of the way, mm.
    length_mm: f64,
    /// The way of the wire before the rough path, open: `[x, y, bulge]`, mm.
    vertices: Vertices<'a>,
}

/// The blank.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct BlankRow<'a> {
    /// Who says where it ends: `drawn`, `size` or `margin`.
    origin: &'static str,
    /// Its outline: `[x, y, bulge]`, mm, as in `paths`.
    vertices: Vertices<'a>,
    /// The strip under the clamps; null where no side is clamped.
    clamp: Option<ClampRow>,
}

/// The strip of the blank under the clamps.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct ClampRow {
    /// The clamped side.
    side: Side,
    /// How far the clamps reach in, mm.
    depth_mm: f64,
    /// Its lower left and upper right corner, mm.
    zone_mm: [[f64; 2]; 2],
}

impl<'a> SeparationRow<'a> {
    pub(super) fn new(separation: &'a Separation) -> Self {
        let piece = &separation.piece;
        let coreless = separation.coreless();
        let tab = separation.tab();
        Self {
            contour: piece.contour,
            piece: match piece.kind {
                PieceKind::Part => "part",
                PieceKind::Slug => "slug",
            },
            area_mm2: piece.area_mm2,
            mass_kg: piece.mass_kg,
            exact: piece.exact,
            across_mm: piece.across_mm,
            centroid_mm: pair(piece.centroid),
            outlines: piece.outlines.iter().map(Vertices).collect(),
            may_jam: separation.may_jam,
            lift_with_help: separation.lift_with_help,
            removal: if coreless.is_some() { "coreless" } else { "stop" },
            tab: tab.map(TabRow::new),
            last_stretch: separation.last_stretch().map(TabRow::new),
            tab_face: tab.and((piece.kind == PieceKind::Part).then_some(separation.face)),
            coreless: coreless.map(CorelessRow::new),
            not_coreless: separation.not_coreless.map(not_coreless_in_words),
            removal_reason: separation.weighed.as_ref().map(weighed_in_words),
        }
    }
}

impl TabRow {
    fn new(tab: &Tab) -> Self {
        Self {
            from_mm: tab.from_mm,
            length_mm: tab.length_mm,
            needed_mm: tab.required_clearance_mm,
            at_mm: pair(tab.at),
            on_straight: tab.on_straight,
        }
    }
}

impl<'a> CorelessRow<'a> {
    fn new(coreless: &'a Coreless) -> Self {
        Self {
            rings: coreless.rings.len(),
            length_mm: coreless.length_mm,
            vertices: Vertices(&coreless.run),
        }
    }
}

impl<'a> BlankRow<'a> {
    pub(super) fn new(blank: &'a RawBlank) -> Self {
        let corners = |bounds: Bounds| [pair(bounds.min), pair(bounds.max)];
        Self {
            origin: match blank.origin {
                BlankOrigin::Drawn => "drawn",
                BlankOrigin::Sized => "size",
                BlankOrigin::Margin => "margin",
            },
            vertices: Vertices(&blank.outline),
            clamp: blank.clamp.map(|zone| ClampRow {
                side: zone.side,
                depth_mm: zone.depth_mm,
                zone_mm: corners(zone.bounds),
            }),
        }
    }
}
