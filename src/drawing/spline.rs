//! SPLINE: control points or fit points become Bézier pieces; pieces become lines and arcs, corners kept.

use super::place::Placement;
use super::stroke::{BadSpline, Ending, NotDrawn, Stroke};
use super::trace::LineBuilder;
use crate::cancel::{asked, checkpoint};
use crate::dxf::document::Spline;
use crate::geometry::Point;
use crate::geometry::bezier::{Bezier, BezierChain, HIGHEST_DEGREE};
use crate::geometry::biarc::{ParametricCurve as _, fit};
use crate::geometry::spline::{Ends, bezier_pieces, through_points};
use crate::message::{message, mm};
use crate::tolerance::{ROUNDING, SAME_POINT_MM, SMOOTH_RAD};

/// Flag of SPLINE, group 70 (DXF reference, ENTITIES section).
const CLOSED: i32 = 1;

/// Weights of one spline may differ by this factor.
const WIDEST_WEIGHTS: f64 = 1_000_000_000.0;

/// Whether only fit points say where the spline runs.
pub(super) fn is_guessed(shape: &Spline) -> bool {
    shape.control.is_empty()
}

/// Returns the line that a SPLINE draws.
pub(super) fn stroke(placement: &Placement, shape: &Spline, fit_mm: Option<f64>) -> Result<Stroke, NotDrawn> {
    let mut trace = LineBuilder::default();
    let pieces = if is_guessed(shape) {
        guessed(shape)?
    } else {
        homogeneous_pieces(shape)?
    };
    let placed: Vec<Bezier> = pieces
        .into_iter()
        .map(|control| {
            let placed = control.into_iter().map(|[x, y, z, w]| {
                let p = placement.point([x / w, y / w, z / w]);
                trace.height(p[2]);
                [p[0] * w, p[1] * w, w]
            });
            Bezier::new(placed.collect())
        })
        .collect();
    match fit_mm {
        Some(fit_mm) => lay(trace, &placed, fit_mm),
        None => Ok(judged(trace, &placed)?),
    }
}

/// Bézier pieces of a spline with control points, in homogeneous coordinates.
fn homogeneous_pieces(shape: &Spline) -> Result<Vec<Vec<[f64; 4]>>, BadSpline> {
    let bad = |reason: String| Err(BadSpline(reason.into()));
    let (control, knots) = (&shape.control, &shape.knots);
    let Some(degree @ 1..=HIGHEST_DEGREE) = usize::try_from(shape.degree).ok() else {
        return bad(format!(
            "its degree is {}; 1 to {HIGHEST_DEGREE} can be read",
            shape.degree
        ));
    };
    let n = control.len();
    if n <= degree {
        return bad(format!(
            "it has {n} control points; degree {degree} needs {}",
            degree + 1
        ));
    }
    if knots.len() != n + degree + 1 {
        return bad(format!(
            "it has {} knots; {n} control points of degree {degree} need {}",
            knots.len(),
            n + degree + 1
        ));
    }
    if let Some((before, after)) = knots
        .iter()
        .zip(&knots[1..])
        .find(|(before, after)| before > after)
    {
        return bad(format!("its knots fall from {before} to {after}"));
    }
    if knots[degree] >= knots[n] {
        return bad(format!(
            "its knots leave no length: both ends are at {}",
            knots[n]
        ));
    }
    let weights = &shape.weights;
    if !weights.is_empty() && weights.len() != n {
        return bad(format!("it has {} weights for {n} control points", weights.len()));
    }
    if let Some(weight) = weights.iter().find(|w| !(w.is_finite() && **w > 0.0)) {
        return bad(format!("one of its weights is {weight}; weights must be above 0"));
    }
    let heaviest = weights.iter().copied().fold(0.0, f64::max);
    if let Some(weight) = weights.iter().find(|w| **w * WIDEST_WEIGHTS < heaviest) {
        return bad(format!(
            "its weights run from {weight} to {heaviest}; they may differ by {WIDEST_WEIGHTS}"
        ));
    }
    let homogeneous: Vec<[f64; 4]> = control
        .iter()
        .enumerate()
        .map(|(i, &[x, y, z])| {
            let w = weights.get(i).map_or(1.0, |w| w / heaviest);
            [x * w, y * w, z * w, w]
        })
        .collect();
    Ok(bezier_pieces(degree, knots, &homogeneous))
}

/// Bézier pieces of a smooth curve through the fit points.
fn guessed(shape: &Spline) -> Result<Vec<Vec<[f64; 4]>>, BadSpline> {
    let mut points = shape.fit_points.clone();
    points.dedup();
    let looped = shape.flags & CLOSED != 0;
    if looped && points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    if points.len() < 2 {
        return Err(BadSpline(message!(
            "it has no control points and {} different fit points",
            points.len()
        )));
    }
    let ends = if looped {
        Ends::Loop
    } else {
        Ends::Open {
            start: shape.start_tangent,
            end: shape.end_tangent,
        }
    };
    let plain = |[x, y, z]: [f64; 3]| [x, y, z, 1.0];
    Ok(asked(through_points(&points, ends).into_iter())
        .map(|piece| piece.map(plain).to_vec())
        .collect())
}

/// Lays Bézier pieces end to end: cusps and kinks are corners, lines and circular arcs stay what they are, the rest
/// is fitted.
fn lay(mut trace: LineBuilder, pieces: &[Bezier], fit_mm: f64) -> Result<Stroke, NotDrawn> {
    let mut smooth: Vec<Bezier> = Vec::new();
    let mut last = pieces.first().map(Bezier::start).unwrap_or_default();
    for piece in pieces
        .iter()
        .flat_map(Bezier::evened)
        .flat_map(|piece| parted_at_cusps(&piece))
    {
        checkpoint();
        not_torn(last, &piece)?;
        if piece.polygon_length() <= SAME_POINT_MM {
            continue;
        }
        last = piece.end();
        let kink = smooth
            .last()
            .is_some_and(|before| before.tangent(1.0).turn_to(piece.tangent(0.0)).abs() > SMOOTH_RAD);
        if kink {
            lay_smooth(&mut trace, &mut smooth, fit_mm)?;
        }
        if let Some(segment) = piece.exact() {
            lay_smooth(&mut trace, &mut smooth, fit_mm)?;
            let length = if segment.is_arc() {
                piece.length()
            } else {
                segment.length()
            };
            trace.segment_of_length(segment, length);
        } else {
            smooth.push(piece);
        }
    }
    lay_smooth(&mut trace, &mut smooth, fit_mm)?;
    Ok(Stroke {
        trace,
        ending: Ending::At(last),
    })
}

/// Refuses a piece that does not begin where the one before ended.
fn not_torn(last: Point, piece: &Bezier) -> Result<(), BadSpline> {
    let gap = last.distance(piece.start());
    if gap > SAME_POINT_MM + ROUNDING * last.x.abs().max(last.y.abs()) {
        return Err(BadSpline(message!(
            "it is torn: {} lie between two of its pieces",
            mm(gap)
        )));
    }
    Ok(())
}

/// As [`lay`], without arcs: a line through the ends of the pieces.
fn judged(mut trace: LineBuilder, pieces: &[Bezier]) -> Result<Stroke, BadSpline> {
    let mut last = pieces.first().map(Bezier::start).unwrap_or_default();
    for piece in pieces {
        not_torn(last, piece)?;
        if piece.polygon_length() > SAME_POINT_MM {
            trace.unfitted(piece.start());
            last = piece.end();
        }
    }
    Ok(Stroke {
        trace,
        ending: Ending::At(last),
    })
}

/// Fits arcs to the pieces gathered so far, and forgets them.
fn lay_smooth(trace: &mut LineBuilder, pieces: &mut Vec<Bezier>, fit_mm: f64) -> Result<(), NotDrawn> {
    if pieces.is_empty() {
        return Ok(());
    }
    let arcs = fit(&BezierChain(pieces), 0.0, pieces.len() as f64, fit_mm)?;
    trace.fitted(arcs, pieces.iter().map(Bezier::length).sum());
    pieces.clear();
    Ok(())
}

fn parted_at_cusps(piece: &Bezier) -> Vec<Bezier> {
    let mut parts = Vec::new();
    let mut rest = piece.clone();
    let mut passed = 0.0;
    for cusp in piece.cusps() {
        let (before, after) = rest.split((cusp - passed) / (1.0 - passed));
        parts.push(before);
        rest = after;
        passed = cusp;
    }
    parts.push(rest);
    parts
}
