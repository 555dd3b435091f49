use serde::Serialize;

use crate::check::path_words::{not_coreless_in_words, weighed_in_words};
use crate::geometry::{Point, Polyline};
use crate::id::ContourId;
use crate::job::{Side, TabFace};
use crate::message::Message;
use crate::process::{BlankOrigin, Coreless, PieceKind, RawBlank, Separation, Tab};

/// One piece that drops.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct SeparationRow<'a> {
    /// Number of the contour.
    contour: ContourId,
    /// `part`, `slug`, or `offcut` (what a trim cuts off).
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
    centroid_mm: Point,
    /// Its outlines, more than one where it falls apart: `[x, y, bulge]`, mm, as in `paths`.
    outlines: &'a [Polyline],
    /// It could enter the lower nozzle.
    may_jam: bool,
    /// It is lifted with help.
    lift_with_help: bool,
    /// How it drops: `stop` or `coreless`.
    removal: &'static str,
    /// The tab that holds it; null without one.
    tab: Option<&'a Tab>,
    /// What stays uncut of the rough path until the attended stop of a piece without a tab; null with one, and where it
    /// is cleared away.
    last_stretch: Option<&'a Tab>,
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

/// How a slug is cleared away.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct CorelessRow<'a> {
    /// How many rings there are before the rough path.
    rings: usize,
    /// Length of the way, mm.
    length_mm: f64,
    /// The way of the wire before the rough path, open: `[x, y, bulge]`, mm.
    vertices: &'a Polyline,
}

/// The blank.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct BlankRow<'a> {
    /// Who says where it ends: `drawn`, `size` or `margin`.
    origin: &'static str,
    /// Its outline: `[x, y, bulge]`, mm, as in `paths`.
    vertices: &'a Polyline,
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
    zone_mm: [Point; 2],
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
                PieceKind::Offcut => "offcut",
            },
            area_mm2: piece.area_mm2,
            mass_kg: piece.mass_kg,
            exact: piece.exact,
            across_mm: piece.across_mm,
            centroid_mm: piece.centroid,
            outlines: &piece.outlines,
            may_jam: separation.may_jam,
            lift_with_help: separation.lift_with_help,
            removal: if coreless.is_some() { "coreless" } else { "stop" },
            tab,
            last_stretch: separation.last_stretch(),
            tab_face: tab.and((piece.kind == PieceKind::Part).then_some(separation.face)),
            coreless: coreless.map(CorelessRow::new),
            not_coreless: separation.not_coreless.map(not_coreless_in_words),
            removal_reason: separation.weighed.as_ref().map(weighed_in_words),
        }
    }
}

impl<'a> CorelessRow<'a> {
    fn new(coreless: &'a Coreless) -> Self {
        Self {
            rings: coreless.rings.len(),
            length_mm: coreless.length_mm,
            vertices: &coreless.run,
        }
    }
}

impl<'a> BlankRow<'a> {
    pub(super) fn new(blank: &'a RawBlank) -> Self {
        Self {
            origin: match blank.origin {
                BlankOrigin::Drawn => "drawn",
                BlankOrigin::Sized => "size",
                BlankOrigin::Margin => "margin",
            },
            vertices: &blank.outline,
            clamp: blank.clamp.map(|zone| ClampRow {
                side: zone.side,
                depth_mm: zone.depth_mm,
                zone_mm: [zone.bounds.min, zone.bounds.max],
            }),
        }
    }
}
