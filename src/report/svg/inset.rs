//! Magnified insets: where passes lie micrometres apart they are told apart here, each with its offset.

mod place;

use svg::node::element::Group;

use super::dimension::bar;
use super::sheet::{
    Anchor, Area, Lettering, SheetSpot, arrow_head, group, line, path, rectangle, round_length, spot,
};
use super::signs::dot;
use super::text::{BOLD, width};
use super::view::View;
use super::{overload, style};
use crate::contour::{Contour, Corner, Role};
use crate::geometry::{Point, Polyline, Vector};
use crate::id::PassNo;
use crate::message::number::{short, um};
use crate::pass::Pass;
use crate::plan::Plan;
use crate::toolpath::WireLoop;
use crate::units::UM_PER_MM;
pub(super) use place::{InsetPlace, places};
use place::{OffsetLabels, nearest};

/// Draws the places one below the other.
pub(super) fn draw(plan: &Plan, places: &[InsetPlace<'_>], column: Area) -> Group {
    const BETWEEN: f64 = 2.5;
    let count = places.len().max(1) as f64;
    let height = (column.height - BETWEEN * (count - 1.0)) / count;
    let mut drawn = group("insets");
    for (i, place) in places.iter().enumerate() {
        let y = column.y + i as f64 * (height + BETWEEN);
        let area = Area::new(column.x, y, column.width, height);
        drawn = drawn.add(inset(plan, place, area, letter(i)));
    }
    drawn
}

/// Name of an inset, on it and on the part.
pub(super) fn letter(i: usize) -> char {
    char::from(b'A' + i as u8)
}

/// Passes of the group that a contour belongs to.
fn passes_of<'a>(plan: &'a Plan, contour: &Contour) -> &'a [Pass] {
    let group = plan
        .groups
        .iter()
        .find(|group| group.contours.contains(&contour.id));
    group.map_or(&[], |group| group.passes())
}

fn loops_of<'a>(plan: &'a Plan, contour: &Contour, pass: PassNo) -> impl Iterator<Item = &'a WireLoop> {
    let id = contour.id;
    plan.toolpaths
        .loops
        .iter()
        .filter(move |wire| wire.contour == id && wire.pass == pass)
}

const SIZE: f64 = 2.3;

fn inset(plan: &Plan, place: &InsetPlace<'_>, area: Area, letter: char) -> Group {
    const LABELS: f64 = 27.0;
    const HEAD: f64 = 4.2;
    let side = if matches!(place.labels, OffsetLabels::LeftEdge) {
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
    let drawn = group(&format!("inset-{letter}")).add(rectangle("window", window));
    let mut drawn = material(drawn, plan, place, &view);
    let passes = passes_of(plan, place.contour);
    if let (Some((from, to)), Some(first)) = (place.across, passes.first()) {
        drawn = drawn
            .add(wire_in_slot(plan, place, first, &view))
            .add(across(&view, from, to));
    }
    let mut ends = Vec::new();
    for pass in passes {
        let class = style::pass_class(pass.pass, passes.len());
        let mut outer: Option<SheetSpot> = None;
        for (data, end) in
            loops_of(plan, place.contour, pass.pass).filter_map(|wire| view.clipped(&wire.polyline, side))
        {
            drawn = drawn.add(path(&class, data, None));
            let farther = |other: &SheetSpot| side * (other.x - end.x) >= 0.0;
            outer = Some(outer.filter(farther).unwrap_or(end));
        }
        if let OffsetLabels::Apex(at) = place.labels {
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
    let drawn = scale_bar(drawn.add(rectangle("edge", window)), place, &view, letter);
    let at = spot(area.x, area.y + SIZE + 0.6);
    drawn.add(Lettering::new("strong", SIZE).write(at, area.width, &title(place, area, letter)))
}

/// Adds the material in view, what the wire leaves of it, the contours, and what the skims meet.
fn material(mut drawn: Group, plan: &Plan, place: &InsetPlace<'_>, view: &View) -> Group {
    let list = plan.inspection.contours.list.iter();
    let bounding = list.filter(|contour| contour.bounds_material());
    let bounding: Vec<&Contour> = bounding.collect();
    let sure = || bounding.iter().filter(|contour| contour.keeps_known_side());
    let mut kept: String = sure()
        .map(|contour| view.clipped_area(&contour.polyline))
        .collect();
    if sure().any(|contour| contour.role == Role::Opening && contour.parent.is_none()) {
        kept.push_str(&view.area.data());
    }
    drawn = drawn.add(path("kept", kept, None));
    for rest in left_over(plan, place.contour, view) {
        drawn = drawn.add(path("left-over", rest, None));
    }
    for contour in &bounding {
        if let Some((data, _)) = view.clipped(&contour.polyline, 1.0) {
            drawn = drawn.add(path("contour", data, None));
        }
    }
    drawn.add(overload::inset(plan, place.contour, view))
}

/// Adds a scale bar on a backing that keeps it legible.
fn scale_bar(drawn: Group, place: &InsetPlace<'_>, view: &View, letter: char) -> Group {
    let window = view.area;
    let length_um = round_length(0.4 * window.width / view.scale * UM_PER_MM);
    let bar_y = if place.bar_on_top {
        window.y + 3.2
    } else {
        window.bottom() - 2.2
    };
    let bar_at = spot(window.x + 3.0, bar_y);
    let bar_width = length_um / UM_PER_MM * view.scale;
    let backing = Area::new(window.x + 1.5, bar_y - 2.0, bar_width + 18.0, 3.4);
    let id = format!("inset-{letter}-scale-bar");
    drawn
        .add(rectangle("paper", backing).set("fill-opacity", "0.8"))
        .add(bar(&id, bar_at, bar_width, &length_words(length_um)))
}

/// Returns the longest caption that fits.
fn title(place: &InsetPlace<'_>, area: Area, letter: char) -> String {
    // A number cut short would be another number.
    let titles: Vec<String> = place
        .captions
        .iter()
        .map(|caption| format!("{letter}  {caption}"))
        .collect();
    let fits = |title: &&String| width(title, SIZE) * BOLD <= area.width;
    let title = titles.iter().find(fits).or(titles.last());
    title.cloned().unwrap_or_default()
}

/// Returns a round length as a scale bar names it.
fn length_words(length_um: f64) -> String {
    if length_um < UM_PER_MM {
        format!("{} µm", short(length_um, 4))
    } else {
        format!("{} mm", short(length_um / UM_PER_MM, 4))
    }
}

/// Draws the wire to scale, on its rough path beside the narrowest place.
fn wire_in_slot(plan: &Plan, place: &InsetPlace<'_>, first: &Pass, view: &View) -> Group {
    const ASIDE_SHARE: f64 = 0.25;
    // Beside the dimension of the slot.
    let aside = Vector::unit(view.turn_rad) * (ASIDE_SHARE * view.area.width / view.scale);
    let at = nearest(loops_of(plan, place.contour, first.pass), place.at + aside);
    let wire = at.map(|at| Polyline::circle(at, plan.setup.wire_mm / 2.0));
    let body = wire
        .map(|wire| view.clipped_area(&wire))
        .filter(|data| !data.is_empty());
    body.into_iter().fold(Group::new(), |drawn, body| {
        drawn.add(path("wire-body", body, Some("the wire".into())))
    })
}

/// Draws a dimension from wall to wall; from outside where its heads find no room between them.
fn across(view: &View, from: Point, to: Point) -> Group {
    const HEAD: f64 = 1.6;
    let (a, b) = (view.place(from), view.place(to));
    let way = Vector::new(b.x - a.x, b.y - a.y);
    let side = if way.length() < 2.0 * HEAD { -1.0 } else { 1.0 };
    let along = way.normalized().unwrap_or_default() * side;
    Group::new()
        .add(line("dimension", a, b))
        .add(arrow_head("dimension-arrow", a, (-along.x, -along.y), HEAD))
        .add(arrow_head("dimension-arrow", b, (along.x, along.y), HEAD))
}

/// Draws the offset of each pass in a column beside the window, joined to its line.
fn offset_labels(mut ends: Vec<(&Pass, String, SheetSpot)>, column: Area, side: f64) -> Group {
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
        let at = spot(sample_end.x + side, level);
        let anchor = if side < 0.0 { Anchor::End } else { Anchor::Start };
        drawn = drawn
            .add(line("dimension", end, knee))
            .add(line(&class, knee, sample_end))
            .add(Lettering::anchored(anchor, "", SIZE).write_level(at, column.width - 9.5, &words));
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
