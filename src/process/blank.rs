//! The blank: its outline, and what the wire meets of its edge and of the clamps.

use std::collections::BTreeMap;

use crate::contour::{Contour, Contours, Role};
use crate::geometry::{Bounds, Point, Polyline, Segment, SegmentIndex, Vector};
use crate::id::ContourId;
use crate::job::{BlankSize, Purpose, Side, Workholding};
use crate::shop::HoldingRule;
use crate::tolerance::PATH_MM;
use crate::toolpath::WireLoop;

/// The blank as it lies on the table.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct RawBlank {
    /// Its outline.
    pub outline: Polyline,
    /// Who says so.
    pub origin: BlankOrigin,
    /// The strip that the clamps take.
    pub clamp: Option<ClampZone>,
}

/// Who says where the blank ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum BlankOrigin {
    /// A contour of the drawing.
    Drawn,
    /// Its size is given: it lies about the middle of what bounds material.
    Sized,
    /// A margin is given beyond what bounds material.
    Margin,
}

/// The strip of the blank under the clamps.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct ClampZone {
    /// The clamped side.
    pub side: Side,
    /// How far the clamps reach in, mm.
    pub depth_mm: f64,
    /// The strip.
    pub bounds: Bounds,
}

/// What is wrong between the cut and the blank.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct BlankFault {
    /// Number of the contour.
    pub contour: ContourId,
    /// Where.
    pub at: Point,
    /// What was found, mm: how far a contour reaches out, what is left of the edge, how deep a wire runs under the
    /// clamps.
    pub found_mm: f64,
}

/// All that is wrong between the cut and the blank, each contour once and at its worst place.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct BlankFaults {
    /// Contours that reach out of the blank.
    pub outside: Vec<BlankFault>,
    /// Contours whose kerf leaves less of the edge than the margin.
    pub near_edge: Vec<BlankFault>,
    /// Contours whose wire runs through the clamp zone.
    pub clamped: Vec<BlankFault>,
}

impl RawBlank {
    /// The blank as drawn, or as asked for; `None` where nothing says how large it is.
    pub fn new(contours: &Contours, holding: &Workholding, rule: &HoldingRule) -> Option<Self> {
        let drawn = contours.list.iter();
        let drawn = drawn.filter(|c| c.purpose == Purpose::Blank && c.role != Role::Open);
        let largest = drawn.max_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
        let material = || {
            let bounding = contours.list.iter().filter(|c| c.bounds_material());
            bounding.map(|c| c.bounds).fold(Bounds::EMPTY, Bounds::union)
        };
        let (outline, origin) = match (largest, holding.blank) {
            (Some(contour), _) => (contour.polyline.clone(), BlankOrigin::Drawn),
            (None, None) => return None,
            (None, Some(asked)) => {
                let cut = material();
                if cut.is_empty() {
                    return None;
                }
                match asked {
                    BlankSize::Size([width, height]) => {
                        let middle = cut.center();
                        let corner = |sign: f64| {
                            Point::new(middle.x + sign * 0.5 * width, middle.y + sign * 0.5 * height)
                        };
                        let bounds = Bounds::of([corner(-1.0), corner(1.0)]);
                        (rectangle(bounds), BlankOrigin::Sized)
                    }
                    BlankSize::Margin(margin_mm) => (rectangle(cut.grown(margin_mm)), BlankOrigin::Margin),
                }
            }
        };
        let depth_mm = holding
            .clamp_depth_mm
            .unwrap_or_else(|| rule.clamp_depth_mm.value());
        let clamp = holding
            .clamp
            .map(|side| ClampZone::new(side, depth_mm, outline.bounds()));
        Some(Self {
            outline,
            origin,
            clamp,
        })
    }

    /// What is wrong between the cut and the blank. `leads` are the ways of the wire beside its loops, each with its
    /// contour; `half_kerf_mm` is from the wire's centre to the edge of its widest kerf, `margin_mm` what has to stand beyond
    /// it. Near-linear in segments.
    pub fn faults(
        &self,
        contours: &Contours,
        loops: &[WireLoop],
        leads: &[(ContourId, &Polyline)],
        half_kerf_mm: f64,
        margin_mm: f64,
    ) -> BlankFaults {
        let edge = SegmentIndex::of([&self.outline]);
        let mut faults = BlankFaults::default();
        for contour in contours.list.iter().filter(|c| c.bounds_material()) {
            if contour.purpose != Purpose::Cut {
                continue;
            }
            if let Some(fault) = reaches_out(contour, &edge) {
                faults.outside.push(fault);
            } else if contour.role == Role::Outside
                && let Some(fault) = near_edge(contour, loops, &edge, half_kerf_mm, margin_mm)
            {
                faults.near_edge.push(fault);
            }
        }
        if let Some(zone) = self.clamp {
            let loops = loops.iter().map(|wire| (wire.contour, &wire.polyline));
            let mut deepest: BTreeMap<ContourId, BlankFault> = BTreeMap::new();
            for (contour, run) in loops.chain(leads.iter().copied()) {
                let Some((at, found_mm)) = zone.deepest(run, half_kerf_mm) else {
                    continue;
                };
                let fault = BlankFault {
                    contour,
                    at,
                    found_mm,
                };
                let known = deepest.entry(contour).or_insert(fault);
                if known.found_mm < found_mm {
                    *known = fault;
                }
            }
            faults.clamped = deepest.into_values().collect();
        }
        faults
    }
}

/// The point of a contour farthest out of the blank, of its vertices, the middles of its segments and the outermost points
/// of its arcs along the axes.
fn reaches_out(contour: &Contour, edge: &SegmentIndex) -> Option<BlankFault> {
    let (middle, diagonal_mm) = (contour.bounds.center(), contour.bounds.diagonal());
    // Most contours lie well within.
    if edge.nearest_within(middle, diagonal_mm).is_none() && edge.winding(middle) != 0 {
        return None;
    }
    let points = contour.polyline.segments().flat_map(|s| {
        let axes = [Side::Left, Side::Right, Side::Top, Side::Bottom];
        let extremes = axes.into_iter().map(move |side| farthest(s, side.direction()));
        [s.from, s.at(0.5)].into_iter().chain(extremes)
    });
    let out = |p: Point| {
        let distance = edge
            .nearest(p, diagonal_mm)
            .map_or(0.0, |(_, _, distance)| distance);
        (distance > PATH_MM && edge.winding(p) == 0).then_some((p, distance))
    };
    let (at, found_mm) = points.filter_map(out).max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(BlankFault {
        contour: contour.id,
        at,
        found_mm,
    })
}

/// The place where the kerf round a contour leaves least of the edge of the blank, when that is below the margin.
fn near_edge(
    contour: &Contour,
    loops: &[WireLoop],
    edge: &SegmentIndex,
    half_kerf_mm: f64,
    margin_mm: f64,
) -> Option<BlankFault> {
    let first = loops.partition_point(|wire| wire.contour < contour.id);
    let own = loops[first..]
        .iter()
        .take_while(|wire| wire.contour == contour.id);
    let mut least: Option<BlankFault> = None;
    for wire in own.filter(|wire| wire.pass.is_rough()) {
        for segment in wire.polyline.segments() {
            for i in edge.near(segment.bounds().grown(half_kerf_mm + margin_mm)) {
                let (distance, at, _) = segment.closest(edge.segments()[i]);
                let found_mm = distance - half_kerf_mm;
                if found_mm < margin_mm && least.is_none_or(|known| found_mm < known.found_mm) {
                    least = Some(BlankFault {
                        contour: contour.id,
                        at,
                        found_mm,
                    });
                }
            }
        }
    }
    least
}

impl ClampZone {
    fn new(side: Side, depth_mm: f64, blank: Bounds) -> Self {
        let mut bounds = blank;
        match side {
            Side::Left => bounds.max.x = blank.min.x + depth_mm,
            Side::Right => bounds.min.x = blank.max.x - depth_mm,
            Side::Top => bounds.min.y = blank.max.y - depth_mm,
            Side::Bottom => bounds.max.y = blank.min.y + depth_mm,
        }
        Self {
            side,
            depth_mm,
            bounds,
        }
    }

    /// How far the kerf of a run reaches under the clamps at its deepest, and where; `None` when it stays clear. The
    /// bounds of a segment are exact, so the depth is too; of an arc the place is that of its extreme.
    fn deepest(&self, run: &Polyline, half_kerf_mm: f64) -> Option<(Point, f64)> {
        let zone = self.bounds;
        let towards = self.side.direction();
        let within = run.segments().filter_map(|segment| {
            let bounds = segment.bounds().grown(half_kerf_mm);
            if !bounds.overlaps(zone) {
                return None;
            }
            let depth_mm = match self.side {
                Side::Left => zone.max.x - bounds.min.x,
                Side::Right => bounds.max.x - zone.min.x,
                Side::Top => bounds.max.y - zone.min.y,
                Side::Bottom => zone.max.y - bounds.min.y,
            };
            (depth_mm > PATH_MM).then(|| (farthest(segment, towards), depth_mm))
        });
        within.max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// The point of a segment farthest in a direction.
pub(super) fn farthest(segment: Segment, towards: Vector) -> Point {
    let ends = [segment.from, segment.to];
    let extreme = segment.center().map(|center| center + towards * segment.radius());
    let candidates = ends.into_iter().chain(extreme.filter(|&p| segment.spans(p)));
    let far = |p: &Point| (*p - Point::default()).dot(towards);
    candidates
        .max_by(|a, b| far(a).total_cmp(&far(b)))
        .unwrap_or(segment.from)
}

fn rectangle(bounds: Bounds) -> Polyline {
    let (min, max) = (bounds.min, bounds.max);
    Polyline::closed([
        (min.x, min.y, 0.0),
        (max.x, min.y, 0.0),
        (max.x, max.y, 0.0),
        (min.x, max.y, 0.0),
    ])
}

#[cfg(test)]
mod tests;
