//! Finds frames of sheets and title borders among the edges: taken for one, a frame swaps inside and outside everywhere.

use std::collections::BTreeSet;

use super::name_words::{Meaning, means};
use super::scene::{Scene, as_nested, is_purpose_given};
use super::{OpenCases, QuestionKind, SheetFrame};
use crate::contour::{Contour, NestView, Role};
use crate::elementary::sin;
use crate::geometry::{Bounds, BoxIndex, Point, Polyline};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::{SHARP_CORNER_RAD, SHEET_MM, SHEET_RATIO_SHARE};

/// What makes a rectangle look like the frame of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum FrameSign {
    /// The name of its layer or linetype.
    Name,
    /// It has the size of a drawing sheet or of the frame on one.
    SheetSize,
    /// It has the proportions of a sheet.
    SheetRatio,
    /// It is one of two rectangles, one inside the other, with texts or lines between them.
    DoubleBorder,
    /// It stands alone on its layer and what it encloses has openings of its own.
    PartsWithin,
}

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

/// Proportions of sheets, long side over short: ISO 216, and ANSI/ASME Y14.1 A to E.
const RATIOS: [f64; 3] = [std::f64::consts::SQRT_2, 11.0 / 8.5, 17.0 / 11.0];

/// Finds upright rectangles around other edges that show a sign of being a frame; a frame within a frame too.
pub(super) fn frames(scene: &Scene<'_>) -> Vec<SheetFrame> {
    let mut frames = Vec::new();
    let outermost = scene.edges().filter(|edge| edge.parent.is_none());
    let mut outermost: Vec<(&Contour, Option<FrameSign>)> = outermost.map(|edge| (edge, None)).collect();
    while let Some((outer, known)) = outermost.pop() {
        let inside = scene.directly_inside(outer.id);
        let sign = || known.or_else(|| sign_of(scene, outer));
        let Some(sign) = (!inside.is_empty()).then(sign).flatten() else {
            continue;
        };
        // The inner one of two borders is one because the outer one is.
        let double = Some(sign).filter(|sign| *sign == FrameSign::DoubleBorder && known.is_none());
        frames.push(SheetFrame {
            contour: outer.id,
            sign,
            enclosed: scene.following(&[outer.id]).len(),
        });
        outermost.extend(inside.iter().map(|&id| (scene.contour(id), double)));
    }
    frames.sort_by_key(|frame| frame.contour);
    frames
}

/// Asks about those whose purpose is not given.
pub(super) fn ask(found: &mut OpenCases<'_>, frames: &[SheetFrame]) {
    let scene = found.scene;
    let several_parts = |frame: &&SheetFrame| {
        let inside = scene.directly_inside(frame.contour).iter();
        let parts = inside.filter(|&&id| is_part_with_openings(scene, id));
        frame.sign != FrameSign::PartsWithin || parts.count() > 1
    };
    let open = frames
        .iter()
        .filter(several_parts)
        .map(|frame| scene.contour(frame.contour));
    let open: Vec<&Contour> = open
        .filter(|c| !is_purpose_given(c) && found.is_free(c.id))
        .collect();
    if open.is_empty() {
        return;
    }
    let lines = lines_of(found, &open);
    let with_lines = || open.iter().chain(&lines);
    let nested = with_lines().map(|contour| as_nested(contour)).collect();
    let mut frame: Vec<(ContourId, Purpose)> = with_lines()
        .map(|contour| {
            let purpose = if is_named_blank(scene, contour) {
                Purpose::Blank
            } else {
                Purpose::Frame
            };
            (contour.id, purpose)
        })
        .collect();
    // What is directly inside is given too, so that this answer settles it.
    let parts = parts_in(scene, &open).into_iter();
    let parts = parts.filter(|part| part.purpose == Purpose::Cut);
    frame.extend(parts.map(|part| (part.id, Purpose::Part)));
    found.ask(QuestionKind::FrameOrPart, &[nested, frame]);
}

/// Whether something lies in an edge; concentric circles are rather a counterbore.
fn is_part_with_openings(scene: &Scene<'_>, id: ContourId) -> bool {
    scene.circle(id).is_none() && !scene.directly_inside(id).is_empty()
}

/// Lists what is directly inside frames and is no frame itself.
fn parts_in<'a>(scene: &Scene<'a>, frames: &[&Contour]) -> Vec<&'a Contour> {
    let ids: BTreeSet<ContourId> = frames.iter().map(|frame| frame.id).collect();
    let inside = frames.iter().flat_map(|frame| scene.directly_inside(frame.id));
    let parts = inside.filter(|id| !ids.contains(id));
    parts.map(|&id| scene.contour(id)).collect()
}

/// Lists the straight lines directly inside frames, on their layers: title blocks and folding marks.
fn lines_of<'a>(found: &OpenCases<'a>, frames: &[&Contour]) -> Vec<&'a Contour> {
    let scene = found.scene;
    let parts = parts_in(scene, frames);
    let parts: Vec<Bounds> = parts.into_iter().map(|part| part.bounds).collect();
    let parts = BoxIndex::new(parts.into_iter());
    let belongs = |line: &&Contour| {
        let p = line.bounds.center();
        let of_frame = |frame: &&Contour| scene.layer(line) == scene.layer(frame) && frame.bounds.contains(p);
        frames.iter().any(of_frame) && parts.within(Bounds::of([p])).next().is_none()
    };
    let lines = super::chains::straight_lines(found).into_iter();
    lines.filter(belongs).collect()
}

/// Returns the sign that an edge with others inside it is a frame.
fn sign_of(scene: &Scene<'_>, outer: &Contour) -> Option<FrameSign> {
    let inside = scene
        .directly_inside(outer.id)
        .iter()
        .map(|&id| scene.contour(id));
    let inside: Vec<&Contour> = inside.collect();
    if let Some(sign) = sign_of_line(scene, NestView::of(outer)) {
        return Some(sign);
    }
    if is_named_blank(scene, outer) {
        return Some(FrameSign::Name);
    }
    if !is_upright_rectangle(&outer.polyline) {
        return None;
    }
    if has_sheet_ratio(outer.bounds) {
        return Some(FrameSign::SheetRatio);
    }
    if let [inner] = inside[..] {
        let parts = scene
            .directly_inside(inner.id)
            .iter()
            .map(|&id| scene.contour(id).bounds);
        let parts: Vec<Bounds> = parts.collect();
        if !parts.is_empty() && is_double_border(scene, NestView::of(outer), NestView::of(inner), &parts) {
            return Some(FrameSign::DoubleBorder);
        }
    }
    // Something lies two deep: within the rectangle there is an outside contour with openings of its own.
    let layer = scene.layer(outer);
    let own_layer = scene
        .following(&[outer.id])
        .iter()
        .all(|&id| scene.layer(scene.contour(id)) != layer);
    let is_part = |part: &&&Contour| is_part_with_openings(scene, part.id);
    (own_layer && inside.iter().any(|part| is_part(&part))).then_some(FrameSign::PartsWithin)
}

fn is_named_blank(scene: &Scene<'_>, contour: &Contour) -> bool {
    means(scene.layer(contour), Meaning::Blank) || means(scene.linetype(contour), Meaning::Blank)
}

/// Whether two lines are borders, one inside the other, with texts or lines within the outer one beside the parts.
fn is_double_border(scene: &Scene<'_>, outer: NestView<'_>, inner: NestView<'_>, parts: &[Bounds]) -> bool {
    let beside = |p: Point| outer.bounds.contains(p) && !parts.iter().any(|part| part.contains(p));
    let borders = outer.bounds.contains_bounds(inner.bounds)
        && is_upright_rectangle(outer.polyline)
        && is_upright_rectangle(inner.polyline);
    let mut lines = scene.list.iter().filter(|c| c.role == Role::Open);
    borders
        && (scene.drawing.texts.iter().any(|text| beside(text.at))
            || lines.any(|line| beside(line.bounds.center())))
}

/// Returns the sign that a closed line alone shows: that of its name or size.
pub(super) fn sign_of_line(scene: &Scene<'_>, line: NestView<'_>) -> Option<FrameSign> {
    let says_frame = |name: &str| means(name, Meaning::Frame);
    if says_frame(scene.layer_of(line.curve)) || says_frame(scene.linetype_of(line.curve)) {
        return Some(FrameSign::Name);
    }
    (is_upright_rectangle(line.polyline) && has_sheet_size(line.bounds)).then_some(FrameSign::SheetSize)
}

fn has_sheet_size(bounds: Bounds) -> bool {
    let (short, long) = sides(bounds);
    let near = |a: f64, b: f64| (a - b).abs() <= SHEET_MM;
    SHEETS_MM.iter().any(|&(s, l)| {
        let (along, across) = MARGINS_MM;
        (near(short, s) && near(long, l))
            || (near(short, s - across) && near(long, l - along))
            || (near(short, s - along) && near(long, l - across))
    })
}

fn has_sheet_ratio(bounds: Bounds) -> bool {
    let (short, long) = sides(bounds);
    RATIOS
        .iter()
        .any(|ratio| (long / short / ratio - 1.0).abs() <= SHEET_RATIO_SHARE)
}

fn sides(bounds: Bounds) -> (f64, f64) {
    let (width, height) = (bounds.width(), bounds.height());
    (width.min(height), width.max(height))
}

/// Whether a loop has four sides along the axes, in any number of segments.
fn is_upright_rectangle(line: &Polyline) -> bool {
    let bounds = line.bounds();
    let area = bounds.width() * bounds.height();
    let upright = line.segments().all(|s| {
        let d = s.to - s.from;
        !s.is_arc() && d.x.abs().min(d.y.abs()) <= sin(SHARP_CORNER_RAD) * d.length()
    });
    upright && (area - line.area().abs()).abs() <= SHEET_MM * (bounds.width() + bounds.height())
}
