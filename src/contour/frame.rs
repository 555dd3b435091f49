//! Finds a sheet frame or title border among the contours to be cut: it would swap inside and outside everywhere.

pub(super) use super::facts::FrameSign;
use super::facts::SheetFrame;
use super::nest::NestView;
use super::{Contour, Role};
use crate::drawing::Drawing;
use crate::geometry::Polyline;
use crate::job::Purpose;
use crate::tolerance::{SHARP_CORNER_RAD, SHEET_MM};

/// Words in the name of a layer that holds a frame.
const FRAME_LAYERS: &[&str] = &[
    "FRAME",
    "BORDER",
    "TITLE",
    "SHEET",
    "FORMAT",
    "RAHMEN",
    "SCHRIFTFELD",
    "CARTOUCHE",
];

/// Trimmed sheets of the ISO 216 A series as ISO 5457 takes them for drawings, mm, and the ANSI/ASME Y14.1
/// sheets A to E.
const SHEETS_MM: &[(f64, f64)] = &[
    (210.0, 297.0),
    (297.0, 420.0),
    (420.0, 594.0),
    (594.0, 841.0),
    (841.0, 1189.0),
    (215.9, 279.4),
    (279.4, 431.8),
    (431.8, 558.8),
    (558.8, 863.6),
    (863.6, 1117.6),
];

/// Margins between an ISO sheet and its frame by ISO 5457: 20 mm on the left, 10 mm elsewhere.
const MARGINS_MM: (f64, f64) = (30.0, 20.0);

/// Finds upright rectangles that enclose all other contours to be cut and show a sign of being a frame; a frame
/// within a frame too.
pub(super) fn frames(drawing: &Drawing, list: &[Contour]) -> Vec<SheetFrame> {
    let mut cut: Vec<&Contour> = list
        .iter()
        .filter(|c| c.purpose == Purpose::Cut && c.role != Role::Open)
        .collect();
    cut.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
    let mut frames = Vec::new();
    while let [outer, rest @ ..] = cut.as_slice() {
        let Some(sign) = sign_of_frame(drawing, NestView::of(outer), rest) else {
            break;
        };
        frames.push(SheetFrame {
            contour: outer.id,
            sign,
            enclosed: rest.len(),
        });
        cut.remove(0);
    }
    frames
}

/// Returns the sign that `outer` is the frame around all of `rest`; `None` where nothing does.
pub(super) fn sign_of_frame(drawing: &Drawing, outer: NestView<'_>, rest: &[&Contour]) -> Option<FrameSign> {
    let encloses_all = !rest.is_empty() && rest.iter().all(|c| outer.bounds.contains_bounds(c.bounds));
    if !encloses_all || !is_upright_rectangle(outer.polyline) {
        return None;
    }
    let layer = layer_of(drawing, outer.curve);
    let upper = layer.to_uppercase();
    if FRAME_LAYERS.iter().any(|word| upper.contains(word)) {
        return Some(FrameSign::LayerName);
    }
    let (width, height) = (outer.bounds.width(), outer.bounds.height());
    let (short, long) = (width.min(height), width.max(height));
    let near = |a: f64, b: f64| (a - b).abs() <= SHEET_MM;
    let is_sheet = |&(s, l): &(f64, f64)| {
        let (along, across) = MARGINS_MM;
        (near(short, s) && near(long, l))
            || (near(short, s - across) && near(long, l - along))
            || (near(short, s - along) && near(long, l - across))
    };
    if SHEETS_MM.iter().any(is_sheet) {
        return Some(FrameSign::SheetSize);
    }
    // Something lies two deep: within the rectangle there is an outside contour with openings of its own.
    let own_layer = rest.iter().all(|c| layer_of(drawing, c.curves[0]) != layer);
    let depth = outer.depth;
    (own_layer && rest.iter().any(|c| c.depth >= depth + 2)).then_some(FrameSign::PartsWithin)
}

fn layer_of(drawing: &Drawing, curve: usize) -> &str {
    let layer = drawing.curves[curve].origin.layer as usize;
    drawing.layers.get(layer).map_or("", |layer| &layer.name)
}

/// Whether a loop has four sides along the axes, in any number of segments.
fn is_upright_rectangle(line: &Polyline) -> bool {
    let bounds = line.bounds();
    let area = bounds.width() * bounds.height();
    let upright = line.segments().all(|s| {
        let d = s.to - s.from;
        !s.is_arc() && d.x.abs().min(d.y.abs()) <= SHARP_CORNER_RAD.sin() * d.length()
    });
    upright && (area - line.area().abs()).abs() <= SHEET_MM * (bounds.width() + bounds.height())
}
