use serde::Serialize;

use super::inspection::pair;
use crate::geometry::{Bounds, Polyline};
use crate::job::{Side, TabFace};
use crate::path::{BlankOrigin, Coreless, PieceKind, RawBlank, Separation, Tab};

/// One piece that comes free.
#[derive(Serialize)]
pub(super) struct SeparationRow<'a> {
    contour: usize,
    piece: &'static str,
    /// Seen from above, what was cut from it before taken off.
    area_mm2: f64,
    mass_kg: f64,
    /// False: area and mass are upper bounds.
    exact: bool,
    across_mm: f64,
    centroid_mm: [f64; 2],
    /// `[x, y, bulge]`, mm, as in `paths`.
    outlines: Vec<Vec<[f64; 3]>>,
    may_jam: bool,
    lift_with_help: bool,
    /// `stop` or `coreless`.
    removal: &'static str,
    tab: Option<TabRow>,
    /// What becomes of the face where the tab of a part stood.
    tab_face: Option<TabFace>,
    coreless: Option<CorelessRow>,
    /// Why it is not cleared away, where that was wanted.
    not_coreless: Option<&'a str>,
}

#[derive(Serialize)]
struct TabRow {
    /// Along the rough path from its first vertex.
    from_mm: f64,
    length_mm: f64,
    needed_mm: f64,
    at_mm: [f64; 2],
    on_straight: bool,
}

#[derive(Serialize)]
struct CorelessRow {
    rings: usize,
    length_mm: f64,
    /// The way of the wire before the rough path, open: `[x, y, bulge]`, mm.
    vertices: Vec<[f64; 3]>,
}

/// The blank.
#[derive(Serialize)]
pub(super) struct BlankRow {
    origin: &'static str,
    vertices: Vec<[f64; 3]>,
    clamp: Option<ClampRow>,
}

#[derive(Serialize)]
struct ClampRow {
    side: Side,
    depth_mm: f64,
    /// Lower left and upper right corner.
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
            outlines: piece.outlines.iter().map(vertices).collect(),
            may_jam: separation.may_jam,
            lift_with_help: separation.lift_with_help,
            removal: if coreless.is_some() { "coreless" } else { "stop" },
            tab: tab.map(TabRow::new),
            tab_face: tab.and((piece.kind == PieceKind::Part).then_some(separation.face)),
            coreless: coreless.map(CorelessRow::new),
            not_coreless: separation.not_coreless.as_deref(),
        }
    }
}

impl TabRow {
    fn new(tab: &Tab) -> Self {
        Self {
            from_mm: tab.from_mm,
            length_mm: tab.length_mm,
            needed_mm: tab.needed_mm,
            at_mm: pair(tab.at),
            on_straight: tab.on_straight,
        }
    }
}

impl CorelessRow {
    fn new(coreless: &Coreless) -> Self {
        Self {
            rings: coreless.rings.len(),
            length_mm: coreless.length_mm,
            vertices: vertices(&coreless.run),
        }
    }
}

impl BlankRow {
    pub(super) fn new(blank: &RawBlank) -> Self {
        let corners = |bounds: Bounds| [pair(bounds.min), pair(bounds.max)];
        Self {
            origin: match blank.origin {
                BlankOrigin::Drawn => "drawn",
                BlankOrigin::Sized => "size",
                BlankOrigin::Margin => "margin",
            },
            vertices: vertices(&blank.outline),
            clamp: blank.clamp.map(|zone| ClampRow {
                side: zone.side,
                depth_mm: zone.depth_mm,
                zone_mm: corners(zone.bounds),
            }),
        }
    }
}

fn vertices(line: &Polyline) -> Vec<[f64; 3]> {
    let each = line.vertices.iter();
    each.map(|v| [v.at.x, v.at.y, v.bulge]).collect()
}
