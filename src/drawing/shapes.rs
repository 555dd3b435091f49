//! What each entity type draws, as lines in the world's plane.

use std::f64::consts::TAU;

use super::place::{Placement, cross, turn, unit};
use super::spline;
use super::stroke::{Ending, NotDrawn, Stroke};
use super::trace::LineBuilder;
use crate::dxf::document::{Ellipse, Entity, HeavyPolyline, LwPolyline, Mline, Shape};
use crate::geometry::biarc::TooManyArcs;
use crate::geometry::{EllipticArc, Point, Segment, Vector};
use crate::tolerance::SAME_ANGLE_DEG;

/// The lines that one entity draws: one, for all but MLINE.
pub(super) struct Strokes {
    pub(super) first: Stroke,
    pub(super) more: Vec<Stroke>,
}

impl Strokes {
    fn of(mut strokes: Vec<Stroke>) -> Option<Self> {
        let more = strokes.split_off(strokes.len().min(1));
        strokes.pop().map(|first| Self { first, more })
    }
}

/// Returns the lines that `entity` draws where `placement` puts it; `None` when it draws none. Without `fit_mm` what would have to be
/// fitted is only judged: of it the lines hold no more than some points.
pub(super) fn strokes(
    entity: &Entity,
    placement: &Placement,
    fit_mm: Option<f64>,
) -> Result<Option<Strokes>, NotDrawn> {
    let object = || placement.of_object(entity.extrusion);
    let one = |first| {
        Ok(Some(Strokes {
            first,
            more: Vec::new(),
        }))
    };
    match &entity.shape {
        Shape::Line { from, to } => one(polygon(&[placement.point(*from), placement.point(*to)], false)),
        Shape::Arc {
            center,
            radius,
            start_deg,
            end_deg,
        } => one(arc(
            &object(),
            *center,
            *radius,
            *start_deg,
            sweep(*start_deg, *end_deg, 360.0, SAME_ANGLE_DEG),
            fit_mm,
        )?),
        Shape::Circle { center, radius } => one(arc(&object(), *center, *radius, 0.0, 360.0, fit_mm)?),
        Shape::LwPolyline(line) => one(light(&object(), line, fit_mm)?),
        Shape::Polyline(line) if line.flags & (MESH | POLYFACE) != 0 => Ok(None),
        Shape::Polyline(line) if line.flags & SPACE != 0 => one(spatial(placement, line)),
        Shape::Polyline(line) => one(heavy(&object(), line, fit_mm)?),
        Shape::Ellipse(shape) => one(ellipse(placement, entity.extrusion, shape, fit_mm)?),
        Shape::Spline(shape) => one(spline::stroke(placement, shape, fit_mm)?),
        Shape::Mline(shape) => Ok(Strokes::of(mline(placement, shape))),
        Shape::Insert(_) | Shape::Point { .. } | Shape::Text(_) | Shape::Other(_) => Ok(None),
    }
}

/// Flags of POLYLINE, group 70, and of VERTEX: DXF reference, ENTITIES section.
const CLOSED: i32 = 1;
const SPACE: i32 = 8;
const MESH: i32 = 16;
const POLYFACE: i32 = 64;
const SPLINE_FRAME: i32 = 16;

/// A line from corner to corner, in world coordinates.
fn polygon(corners: &[[f64; 3]], closed: bool) -> Stroke {
    let mut trace = LineBuilder::with_room_for(corners.len());
    let flat = |p: [f64; 3]| Point::new(p[0], p[1]);
    for pair in corners.windows(2) {
        trace.segment(Segment::line(flat(pair[0]), flat(pair[1])));
    }
    for corner in corners {
        trace.height(corner[2]);
    }
    let end = corners.last().copied().map(flat).unwrap_or_default();
    let start = corners.first().copied().map(flat).unwrap_or_default();
    if closed && corners.len() > 1 {
        trace.segment(Segment::line(end, start));
        Stroke {
            trace,
            ending: Ending::Closed,
        }
    } else {
        Stroke {
            trace,
            ending: Ending::At(end),
        }
    }
}

/// How far an arc runs from its start angle to its end angle, where a whole turn is `turn` and angles within
/// `same` are one: counter-clockwise, at most once round. Whole turns between different angles are once round; the
/// same angle twice is nothing.
fn sweep(start: f64, end: f64, turn: f64, same: f64) -> f64 {
    let turned = end - start;
    let turns = (turned / turn).round();
    if turns != 0.0 && (turned - turn * turns).abs() <= same {
        turn
    } else {
        turned.rem_euclid(turn)
    }
}

fn arc(
    object: &Placement,
    center: [f64; 3],
    radius: f64,
    start_deg: f64,
    sweep_deg: f64,
    fit_mm: Option<f64>,
) -> Result<Stroke, NotDrawn> {
    let plane = object.plane(center[2]);
    // Two half turns, and the end.
    let mut trace = LineBuilder::with_room_for(3);
    if radius > 0.0 {
        // θ is counted from the start, so that the start is met exactly at quarter turns.
        let (sin, cos) = turn(start_deg);
        let (x, y) = (plane.x * radius, plane.y * radius);
        let arc = EllipticArc {
            center: plane.at(Point::new(center[0], center[1])),
            u: x * cos + y * sin,
            v: y * cos - x * sin,
            start_rad: 0.0,
            sweep_rad: sweep_deg.to_radians(),
        };
        let middle = plane.height_at(Point::new(center[0], center[1]));
        circle_heights(&mut trace, middle, plane.tilt * radius);
        return Ok(elliptic(trace, &arc, sweep_deg == 360.0, fit_mm)?);
    }
    let end = plane.at(Point::new(center[0], center[1]));
    Ok(Stroke {
        trace,
        ending: Ending::At(end),
    })
}

/// Heights that a circle reaches whose centre is at height `middle` and whose half diameters rise by `tilt.x` and
/// `tilt.y`.
fn circle_heights(trace: &mut LineBuilder, middle: f64, tilt: Vector) {
    let reach = tilt.length();
    trace.height(middle + reach);
    trace.height(middle - reach);
}

fn elliptic(
    mut trace: LineBuilder,
    arc: &EllipticArc,
    full: bool,
    fit_mm: Option<f64>,
) -> Result<Stroke, TooManyArcs> {
    use crate::geometry::biarc::ParametricCurve as _;
    trace.elliptic(arc, fit_mm)?;
    let ending = if full {
        Ending::Closed
    } else {
        Ending::At(arc.point(arc.end_rad()))
    };
    Ok(Stroke { trace, ending })
}

fn ellipse(
    placement: &Placement,
    normal: [f64; 3],
    shape: &Ellipse,
    fit_mm: Option<f64>,
) -> Result<Stroke, TooManyArcs> {
    let normal = unit(if normal == [0.0; 3] {
        [0.0, 0.0, 1.0]
    } else {
        normal
    });
    let minor = cross(normal, shape.major).map(|c| c * shape.ratio);
    let flat = |v: [f64; 3]| Vector::new(v[0], v[1]);
    let (u, v) = (placement.vector(shape.major), placement.vector(minor));
    let center = placement.point(shape.center);
    let sweep_rad = sweep(shape.start_rad, shape.end_rad, TAU, SAME_ANGLE_DEG.to_radians());
    let arc = EllipticArc {
        center: Point::new(center[0], center[1]),
        u: flat(u),
        v: flat(v),
        start_rad: shape.start_rad,
        sweep_rad,
    };
    let mut trace = LineBuilder::default();
    circle_heights(&mut trace, center[2], Vector::new(u[2], v[2]));
    elliptic(trace, &arc, sweep_rad == TAU, fit_mm)
}

fn light(object: &Placement, line: &LwPolyline, fit_mm: Option<f64>) -> Result<Stroke, NotDrawn> {
    bulged(object, &line.vertices, line.elevation, line.closed, fit_mm)
}

fn heavy(object: &Placement, line: &HeavyPolyline, fit_mm: Option<f64>) -> Result<Stroke, NotDrawn> {
    let vertices: Vec<[f64; 3]> = drawn(line).map(|v| [v.at[0], v.at[1], v.bulge]).collect();
    bulged(
        object,
        &vertices,
        line.elevation,
        line.flags & CLOSED != 0,
        fit_mm,
    )
}

fn spatial(placement: &Placement, line: &HeavyPolyline) -> Stroke {
    let corners: Vec<[f64; 3]> = drawn(line).map(|v| placement.point(v.at)).collect();
    polygon(&corners, line.flags & CLOSED != 0)
}

/// Returns the vertices that a POLYLINE passes through: control points of a spline fit are only its frame.
fn drawn(line: &HeavyPolyline) -> impl Iterator<Item = &crate::dxf::document::HeavyVertex> {
    line.vertices.iter().filter(|v| v.flags & SPLINE_FRAME == 0)
}

/// A polyline of `(x, y, bulge)` in object coordinates.
fn bulged(
    object: &Placement,
    vertices: &[[f64; 3]],
    elevation: f64,
    closed: bool,
    fit_mm: Option<f64>,
) -> Result<Stroke, NotDrawn> {
    let plane = object.plane(elevation);
    let mut trace = LineBuilder::with_room_for(vertices.len());
    let at = |v: &[f64; 3]| Point::new(v[0], v[1]);
    let closed = closed && vertices.len() > 1;
    let ends = vertices.iter().skip(1).chain(vertices.first().filter(|_| closed));
    for (from, to) in vertices.iter().zip(ends) {
        trace.segment_in(&plane, Segment::arc(at(from), at(to), from[2]), fit_mm)?;
    }
    let ending = match vertices.last() {
        Some(last) if !closed => Ending::At(plane.at(at(last))),
        Some(_) => Ending::Closed,
        None => Ending::At(plane.origin),
    };
    Ok(Stroke { trace, ending })
}

/// An MLINE is as many lines as it has elements, side by side.
fn mline(placement: &Placement, shape: &Mline) -> Vec<Stroke> {
    let elements = shape.vertices.iter().map(Vec::len).min().unwrap_or(0);
    (0..elements)
        .map(|element| {
            let corners: Vec<[f64; 3]> = shape
                .vertices
                .iter()
                .map(|points| placement.point(points[element]))
                .collect();
            polygon(&corners, shape.closed)
        })
        .collect()
}
