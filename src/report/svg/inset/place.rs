//! The places of a part that are worth magnifying.

use super::{loops_of, passes_of};
use crate::contour::{Contour, Role};
use crate::geometry::{Point, Segment, Vector};
use crate::job::Purpose;
use crate::message::{Message, degrees, message, mm, um_of_mm};
use crate::pass::Pass;
use crate::plan::Plan;
use crate::report::words;
use crate::toolpath::WireLoop;

/// A place worth magnifying.
pub(in crate::report::svg) struct InsetPlace<'a> {
    pub(super) contour: &'a Contour,
    /// What is shown.
    pub(super) caption: Message,
    /// What is magnified, on the part.
    pub(in crate::report::svg) at: Point,
    /// Middle of the view, on the part.
    pub(super) center: Point,
    /// Height of the view, mm of the part.
    pub(super) height_mm: f64,
    pub(super) turn_rad: f64,
    pub(super) labels: OffsetLabels,
    pub(super) bar_on_top: bool,
    /// The two walls of a slot.
    pub(super) across: Option<(Point, Point)>,
}

/// How the offsets are joined to their lines.
#[derive(Clone, Copy)]
pub(super) enum OffsetLabels {
    /// Where the lines leave the window on the right.
    RightEdge,
    /// Where they leave it on the left.
    LeftEdge,
    /// Where each line comes nearest to this point.
    Apex(Point),
}

/// Returns the worst inside corner, the narrowest slot and one wall, whichever the part has.
pub(in crate::report::svg) fn places(plan: &Plan) -> Vec<InsetPlace<'_>> {
    let places = [worst_corner(plan), narrowest_slot(plan), wall(plan)];
    places.into_iter().flatten().collect()
}

fn cut_contours(plan: &Plan) -> impl Iterator<Item = &Contour> {
    plan.inspection
        .contours
        .list
        .iter()
        .filter(|contour| contour.purpose == Purpose::Cut && contour.polyline.closed)
}

/// Returns the place where the last pass leaves most, else the sharpest inside corner, else the smallest inside radius.
fn worst_corner(plan: &Plan) -> Option<InsetPlace<'_>> {
    let (contour, at, words) = most_left(plan)
        .or_else(|| sharpest(plan))
        .or_else(|| tightest(plan))?;
    let first = passes_of(plan, contour).first()?;
    let wire = nearest(loops_of(plan, contour, first.pass), at).unwrap_or(at);
    let reach = at.distance(wire).clamp(first.offset_mm, 3.0 * first.offset_mm);
    let room = (wire - at).normalized().unwrap_or_default();
    let labels = if room.y.abs() > room.x.abs() {
        OffsetLabels::Apex(at)
    } else if room.x < 0.0 {
        OffsetLabels::LeftEdge
    } else {
        OffsetLabels::RightEdge
    };
    Some(InsetPlace {
        contour,
        caption: message!("contour {} at {}: {}", contour.id, words::place(at, 3), words),
        at,
        center: at + room * (0.7 * reach),
        height_mm: 2.2 * reach,
        turn_rad: 0.0,
        labels,
        across: None,
        // In the kept material, where no line runs.
        bar_on_top: room.y < 0.0,
    })
}

type Spotted<'a> = (&'a Contour, Point, Message);

fn most_left(plan: &Plan) -> Option<Spotted<'_>> {
    let place = plan
        .toolpaths
        .unreached
        .iter()
        .max_by(|a, b| a.deviation_mm.total_cmp(&b.deviation_mm))?;
    let contour = cut_contours(plan).find(|contour| contour.id == place.contour)?;
    Some((
        contour,
        place.at,
        message!("up to {} not reached", um_of_mm(place.deviation_mm).at_most(1)),
    ))
}

fn sharpest(plan: &Plan) -> Option<Spotted<'_>> {
    let corners =
        cut_contours(plan).flat_map(|contour| contour.sharp_inside_corners.iter().map(move |c| (contour, c)));
    let (contour, corner) = corners.min_by(|(_, a), (_, b)| a.angle_rad.total_cmp(&b.angle_rad))?;
    let angle = degrees(corner.angle_rad.to_degrees()).at_most(2);
    Some((contour, corner.at, message!("sharp inside corner, {}", angle)))
}

fn tightest(plan: &Plan) -> Option<Spotted<'_>> {
    let curved = cut_contours(plan).filter_map(|contour| {
        Some((
            contour,
            contour.min_inside_radius_mm?,
            contour.min_inside_radius_at?,
        ))
    });
    let (contour, radius, at) = curved.min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((
        contour,
        at,
        message!("smallest inside radius, {}", mm(radius).at_most(4)),
    ))
}

/// Returns the point of some loops that lies nearest to `at`.
pub(super) fn nearest<'a>(loops: impl Iterator<Item = &'a WireLoop>, at: Point) -> Option<Point> {
    let points = loops
        .flat_map(|wire| wire.polyline.segments())
        .map(|segment| segment.nearest(at));
    points.min_by(|a, b| a.distance(at).total_cmp(&b.distance(at)))
}

/// Returns the narrowest slot, where it is narrow enough for the passes in it to be told apart.
fn narrowest_slot(plan: &Plan) -> Option<InsetPlace<'_>> {
    /// Offsets of the rough cut that go into the widest slot worth showing.
    const MOST_OFFSETS: f64 = 25.0;
    /// A place that is this much of the whole opening is no narrow one.
    const WHOLE_SHARE: f64 = 0.9;
    /// Offsets of the rough cut that the view of the tightest slot is high, so that the wire is seen beside it.
    const FEWEST_OFFSETS: f64 = 3.0;
    let slots = cut_contours(plan).filter_map(|contour| {
        let whole_mm = contour.bounds.width().min(contour.bounds.height());
        let slot = contour.narrowest_slot.as_deref()?;
        let narrow = contour.role != Role::Opening || slot.width_mm < WHOLE_SHARE * whole_mm;
        narrow.then_some((contour, slot))
    });
    let (contour, slot) = slots.min_by(|a, b| a.1.width_mm.total_cmp(&b.1.width_mm))?;
    let first = passes_of(plan, contour).first()?;
    if slot.width_mm > MOST_OFFSETS * first.offset_mm {
        return None;
    }
    let across = (slot.to - slot.from).normalized()?;
    let at = slot.from.midpoint(slot.to);
    Some(InsetPlace {
        contour,
        caption: message!(
            "slot of contour {}, {} at its narrowest",
            contour.id,
            mm(slot.width_mm).at_most(4)
        ),
        at,
        center: at,
        height_mm: (1.3 * slot.width_mm).max(FEWEST_OFFSETS * first.offset_mm),
        // Turned so that one wall lies above the other.
        turn_rad: Vector::angle(across.left()),
        labels: OffsetLabels::RightEdge,
        bar_on_top: true,
        across: Some((slot.from, slot.to)),
    })
}

/// Returns the longest straight wall; of a part all round, the longest arc.
fn wall(plan: &Plan) -> Option<InsetPlace<'_>> {
    let better = |a: &Segment, b: &Segment| {
        let straight = b.is_arc().cmp(&a.is_arc());
        straight.then(a.length().total_cmp(&b.length()))
    };
    let walls =
        cut_contours(plan).filter_map(|contour| Some((contour, contour.polyline.segments().max_by(better)?)));
    let (contour, wall) = walls.max_by(|(_, a), (_, b)| better(a, b))?;
    let passes = passes_of(plan, contour);
    let (first, last) = (passes.first()?, passes.last()?);
    // Turned so that the wall lies level with the wire above it.
    let along = wall.direction(0.5);
    let (along, out) = match contour.role {
        Role::Opening => (along, along.left()),
        Role::Outside | Role::Open => (-along, -along.left()),
    };
    let (low, high) = stretch(passes, first.offset_mm, last.offset_mm);
    let at = wall.at(0.5);
    Some(InsetPlace {
        contour,
        caption: message!("wall of contour {}, rotated horizontal", contour.id),
        at,
        center: at + out * f64::midpoint(low, high),
        height_mm: high - low,
        turn_rad: Vector::angle(along),
        labels: OffsetLabels::RightEdge,
        bar_on_top: false,
        across: None,
    })
}

/// Distances from the wall between which an inset shows the passes: from the wall on where that tells them
/// apart, else from the last pass on.
fn stretch(passes: &[Pass], first_mm: f64, last_mm: f64) -> (f64, f64) {
    const TOLD_APART_SHARE: f64 = 0.012;
    let closest = passes
        .windows(2)
        .map(|pair| (pair[0].offset_mm - pair[1].offset_mm).abs());
    let closest = closest.fold(f64::INFINITY, f64::min);
    let from_wall = (-0.15 * first_mm, 1.12 * first_mm);
    if closest > TOLD_APART_SHARE * (from_wall.1 - from_wall.0) {
        from_wall
    } else {
        let spread = (first_mm - last_mm).abs();
        (last_mm - 0.3 * spread, first_mm + 0.2 * spread)
    }
}
