//! Magnified insets: where passes lie micrometres apart they are told apart here, each with its offset.

use svg::node::element::Group;

use super::dimension::bar;
use super::ink;
use super::part::dot;
use super::sheet::{Anchor, Area, Spot, group, line, path, rectangle, round_length, spot, text};
use super::view::View;
use crate::contour::{Contour, Corner, Role};
use crate::geometry::{Point, Polyline, Segment, Vector};
use crate::job::Use;
use crate::pass::Pass;
use crate::path::WireLoop;
use crate::plan::Plan;
use crate::report::number::{short, um};
use crate::units::UM_PER_MM;

/// A place worth magnifying.
struct Place<'a> {
    contour: &'a Contour,
    caption: String,
    /// Middle of the view, on the part.
    center: Point,
    /// Height of the view, mm of the part.
    height_mm: f64,
    turn_rad: f64,
    labels: Labels,
    bar_on_top: bool,
}

/// How the offsets are joined to their lines.
#[derive(Clone, Copy)]
enum Labels {
    /// Where the lines leave the window on the right.
    RightEdge,
    /// Where they leave it on the left.
    LeftEdge,
    /// Where each line comes nearest to this point.
    Apex(Point),
}

/// Draws the worst inside corner and one straight wall, whichever the part has.
pub(super) fn draw(plan: &Plan, areas: [Area; 2]) -> Group {
    let mut drawn = group("insets");
    let places = [worst_corner(plan), straight_wall(plan)];
    for (i, place) in places.into_iter().flatten().enumerate() {
        drawn = drawn.add(inset(plan, &place, areas[i], i + 1));
    }
    drawn
}

fn cut_contours(plan: &Plan) -> impl Iterator<Item = &Contour> {
    plan.inspection
        .contours
        .list
        .iter()
        .filter(|contour| contour.purpose == Use::Cut && contour.polyline.closed)
}

/// Passes of the group that a contour belongs to.
fn passes_of<'a>(plan: &'a Plan, contour: &Contour) -> &'a [Pass] {
    let group = plan
        .groups
        .iter()
        .find(|group| group.contours.contains(&contour.id));
    group.map_or(&[], |group| &group.passes)
}

fn loops_of<'a>(plan: &'a Plan, contour: &Contour, pass: usize) -> impl Iterator<Item = &'a WireLoop> {
    let id = contour.id;
    plan.paths
        .loops
        .iter()
        .filter(move |wire| wire.contour == id && wire.pass == pass)
}

/// The place where the last pass leaves most, else the sharpest inside corner, else the smallest inside radius.
fn worst_corner(plan: &Plan) -> Option<Place<'_>> {
    let (contour, at, words) = most_left(plan)
        .or_else(|| sharpest(plan))
        .or_else(|| tightest(plan))?;
    let first = passes_of(plan, contour).first()?;
    let wire = nearest(loops_of(plan, contour, 1), at).unwrap_or(at);
    let reach = at.distance(wire).clamp(first.offset_mm, 3.0 * first.offset_mm);
    let room = (wire - at).normalized().unwrap_or_default();
    let labels = if room.y.abs() > room.x.abs() {
        Labels::Apex(at)
    } else if room.x < 0.0 {
        Labels::LeftEdge
    } else {
        Labels::RightEdge
    };
    Some(Place {
        contour,
        caption: format!(
            "contour {} at x {} y {}: {words}",
            contour.id,
            short(at.x, 3),
            short(at.y, 3)
        ),
        center: at + room * (0.7 * reach),
        height_mm: 2.2 * reach,
        turn_rad: 0.0,
        labels,
        // In the kept material, where no line runs.
        bar_on_top: room.y < 0.0,
    })
}

type Spotted<'a> = (&'a Contour, Point, String);

fn most_left(plan: &Plan) -> Option<Spotted<'_>> {
    let place = plan
        .paths
        .unreached
        .iter()
        .max_by(|a, b| a.deviation_mm.total_cmp(&b.deviation_mm))?;
    let contour = cut_contours(plan).find(|contour| contour.id == place.contour)?;
    Some((
        contour,
        place.at,
        format!("up to {} µm not reached", um(place.deviation_mm)),
    ))
}

fn sharpest(plan: &Plan) -> Option<Spotted<'_>> {
    let corners =
        cut_contours(plan).flat_map(|contour| contour.sharp_inside_corners.iter().map(move |c| (contour, c)));
    let (contour, corner) = corners.min_by(|(_, a), (_, b)| a.angle_rad.total_cmp(&b.angle_rad))?;
    let angle = short(corner.angle_rad.to_degrees(), 2);
    Some((contour, corner.at, format!("sharp inside corner, {angle}°")))
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
        format!("smallest inside radius, {} mm", short(radius, 4)),
    ))
}

/// The point of some loops that lies nearest to `at`.
fn nearest<'a>(loops: impl Iterator<Item = &'a WireLoop>, at: Point) -> Option<Point> {
    let points = loops
        .flat_map(|wire| wire.polyline.segments())
        .map(|segment| segment.nearest(at));
    points.min_by(|a, b| a.distance(at).total_cmp(&b.distance(at)))
}

fn straight_wall(plan: &Plan) -> Option<Place<'_>> {
    let longest = |contour: &Contour| {
        let straight = contour.polyline.segments().filter(|segment| !segment.is_arc());
        straight.max_by(|a, b| a.length().total_cmp(&b.length()))
    };
    let walls = cut_contours(plan).filter_map(|contour| Some((contour, longest(contour)?)));
    let (contour, wall): (&Contour, Segment) =
        walls.max_by(|(_, a), (_, b)| a.length().total_cmp(&b.length()))?;
    let passes = passes_of(plan, contour);
    let (first, last) = (passes.first()?, passes.last()?);
    // Turned so that the wall lies level with the wire above it.
    let along = wall.direction(0.5);
    let (along, out) = match contour.role {
        Role::Opening => (along, along.left()),
        Role::Outside | Role::Open => (-along, -along.left()),
    };
    let (low, high) = stretch(passes, first.offset_mm, last.offset_mm);
    Some(Place {
        contour,
        caption: format!("wall of contour {}, turned level", contour.id),
        center: wall.at(0.5) + out * f64::midpoint(low, high),
        height_mm: high - low,
        turn_rad: Vector::angle(along),
        labels: Labels::RightEdge,
        bar_on_top: false,
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

fn inset(plan: &Plan, place: &Place<'_>, area: Area, number: usize) -> Group {
    const LABELS: f64 = 25.0;
    const HEAD: f64 = 4.2;
    const SIZE: f64 = 2.3;
    let side = if matches!(place.labels, Labels::LeftEdge) {
        -1.0
    } else {
        1.0
    };
    let (left, right) = if side < 0.0 { (LABELS, 0.0) } else { (0.0, LABELS) };
    let window = area.inset(left, HEAD, right, 0.0);
    let view = View {
        area: window,
        center: place.center,
        scale: window.height / place.height_mm,
        turn_rad: place.turn_rad,
    };
    let mut drawn = group(&format!("inset-{number}")).add(rectangle("window", window));
    let bounding = plan.inspection.contours.list.iter().filter(|contour| {
        contour.polyline.closed && matches!(contour.purpose, Use::Cut | Use::Existing | Use::Blank)
    });
    let bounding: Vec<&Contour> = bounding.collect();
    let mut kept: String = bounding
        .iter()
        .map(|contour| view.clipped_area(&contour.polyline))
        .collect();
    if bounding
        .iter()
        .any(|contour| contour.role == Role::Opening && contour.parent.is_none())
    {
        kept.push_str(&window.data());
    }
    drawn = drawn.add(path("kept", kept, None));
    for rest in left_over(plan, place.contour, &view) {
        drawn = drawn.add(path("left-over", rest, None));
    }
    for contour in &bounding {
        if let Some((data, _)) = view.clipped(&contour.polyline, 1.0) {
            drawn = drawn.add(path("contour", data, None));
        }
    }
    let passes = passes_of(plan, place.contour);
    let mut ends = Vec::new();
    for pass in passes {
        let class = ink::pass_class(pass.pass, passes.len());
        let mut outer: Option<Spot> = None;
        for (data, end) in
            loops_of(plan, place.contour, pass.pass).filter_map(|wire| view.clipped(&wire.polyline, side))
        {
            drawn = drawn.add(path(&class, data, None));
            let farther = |other: &Spot| side * (other.x - end.x) >= 0.0;
            outer = Some(outer.filter(farther).unwrap_or(end));
        }
        if let Labels::Apex(at) = place.labels {
            let apex = nearest(loops_of(plan, place.contour, pass.pass), at).map(|apex| view.place(apex));
            outer = outer
                .and(apex)
                .filter(|apex| window.contains(Area::new(apex.x, apex.y, 0.0, 0.0)));
            drawn = outer
                .into_iter()
                .fold(drawn, |drawn, apex| drawn.add(dot("mark-point", apex, 0.35)));
        }
        if let Some(end) = outer {
            ends.push((pass, class, end));
        }
    }
    let column = if side < 0.0 { area.x } else { window.right() };
    let column = Area::new(column, window.y, LABELS, window.height - 1.0);
    drawn = drawn.add(offset_labels(ends, column, side));
    let length_um = round_length(0.4 * window.width / view.scale * UM_PER_MM);
    let bar_y = if place.bar_on_top {
        window.y + 3.2
    } else {
        window.bottom() - 2.2
    };
    let bar_at = spot(window.x + 3.0, bar_y);
    let width = length_um / UM_PER_MM * view.scale;
    let backing = Area::new(window.x + 1.5, bar_y - 2.0, width + 18.0, 3.4);
    let title = format!("{number}  {}", place.caption);
    drawn
        .add(rectangle("edge", window))
        .add(rectangle("paper", backing).set("fill-opacity", "0.8"))
        .add(bar(
            &format!("inset-{number}-scale-bar"),
            bar_at,
            width,
            &format!("{} µm", short(length_um, 4)),
        ))
        .add(text(
            "strong",
            spot(area.x, area.y + SIZE + 0.6),
            Anchor::Start,
            SIZE,
            area.width,
            &title,
        ))
}

/// The offset of each pass in a column beside the window, joined to its line.
fn offset_labels(mut ends: Vec<(&Pass, String, Spot)>, column: Area, side: f64) -> Group {
    const SIZE: f64 = 2.3;
    const STEP: f64 = 3.6;
    ends.sort_by(|a, b| a.2.y.total_cmp(&b.2.y).then(b.0.pass.cmp(&a.0.pass)));
    // As near as possible to its line, each at least a step below the one above, none below the column.
    let mut levels: Vec<f64> = Vec::with_capacity(ends.len());
    for (_, _, end) in &ends {
        let above = levels.last().map_or(column.y + 2.0, |level| level + STEP);
        levels.push(end.y.max(above));
    }
    let mut limit = column.bottom();
    for level in levels.iter_mut().rev() {
        *level = level.min(limit);
        limit = *level - STEP;
    }
    let mut drawn = Group::new();
    for ((pass, class, end), level) in ends.into_iter().zip(levels) {
        let near = if side < 0.0 { column.right() } else { column.x };
        let knee = spot(near + side * 3.0, level);
        let sample_end = spot(knee.x + side * 5.5, level);
        let words = format!("{}  {} µm", pass.pass, um(pass.offset_mm));
        let at = spot(sample_end.x + side, level + SIZE * 0.36);
        let anchor = if side < 0.0 { Anchor::End } else { Anchor::Start };
        drawn = drawn
            .add(line("dimension", end, knee))
            .add(line(&class, knee, sample_end))
            .add(text("", at, anchor, SIZE, column.width - 9.5, &words));
    }
    drawn
}

/// What the last pass leaves at sharp inside corners, as far as the view shows them.
fn left_over(plan: &Plan, contour: &Contour, view: &View) -> Vec<String> {
    let Some(last) = passes_of(plan, contour).last() else {
        return Vec::new();
    };
    let count = contour.polyline.segment_count();
    let shape = |corner: &Corner| {
        let near = |p: &Point| p.distance(corner.at);
        let vertices = loops_of(plan, contour, last.pass).flat_map(|wire| &wire.polyline.vertices);
        let center = vertices
            .map(|v| v.at)
            .min_by(|a, b| near(a).total_cmp(&near(b)))?;
        // The wire's edge touches both walls where they come nearest to its centre.
        let before = contour
            .polyline
            .segment((corner.segment + count - 1) % count)
            .nearest(center);
        let after = contour.polyline.segment(corner.segment).nearest(center);
        let sweep = (after - center).turn_to(before - center);
        let shape = Polyline::closed([
            (corner.at.x, corner.at.y, 0.0),
            (after.x, after.y, (sweep / 4.0).tan()),
            (before.x, before.y, 0.0),
        ]);
        Some(view.clipped_area(&shape)).filter(|data| !data.is_empty())
    };
    contour
        .sharp_inside_corners
        .iter()
        .filter(|corner| view.shows(corner.at))
        .filter_map(shape)
        .collect()
}
