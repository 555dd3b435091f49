//! Magnified insets: where passes lie micrometres apart they are told apart here, each with its offset.

mod place;

use svg::node::element::Group;

use super::dimension::{bar, round_bar, um_in_full};
use super::flow::{Flow, line_height};
use super::sheet::{
    Anchor, Area, LARGE, Lettering, SMALL, SheetSpot, arrow_head, line, path, rectangle, spot,
};
use super::signs::dot;
use super::text::width;
use super::view::View;
use super::{overload, style};
use crate::contour::{Contour, Corner, Role};
use crate::elementary::tan;
use crate::geometry::{Point, Polyline, Vector};
use crate::id::PassNo;
use crate::message::Lengths;
use crate::pass::Pass;
use crate::plan::Plan;
use crate::toolpath::WireLoop;
pub(super) use place::{InsetPlace, places};
use place::{OffsetLabels, nearest};

/// Height of the window of an inset, mm; more passes than fit beside it make it higher.
const WINDOW: f64 = 48.0;
/// From the window to the sample of a line beside it, and the length of that, mm.
const KNEE: f64 = 3.0;
const OFFSET_SAMPLE: f64 = 5.5;
/// From one offset beside the window to the next, mm.
const STEP: f64 = 4.8;

/// Draws the places one below the other.
pub(super) fn draw(plan: &Plan, places: &[InsetPlace<'_>], lengths: Lengths, flow: &mut Flow) {
    for (i, place) in places.iter().enumerate() {
        let passes = passes_of(plan, place.contour).len() as f64;
        let height = WINDOW.max(STEP * passes + 2.0);
        let letter = letter(i);
        flow.gap(2.5);
        flow.keep(height + 3.0 * line_height(SMALL));
        flow.begin(&format!("inset-{letter}"));
        let caption = format!("{letter}  {}", place.caption.shown(lengths));
        flow.words("strong", SMALL, 0.0, &caption);
        let area = flow.room(height + 1.0).inset(0.0, 0.5, 0.0, 0.5);
        flow.put(inset(plan, place, lengths, (area, letter)));
    }
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

fn inset(plan: &Plan, place: &InsetPlace<'_>, lengths: Lengths, (area, letter): (Area, char)) -> Group {
    let passes = passes_of(plan, place.contour);
    let words = |pass: &Pass| offset_words(pass, lengths);
    let widest = passes
        .iter()
        .map(|pass| width(&words(pass), LARGE))
        .fold(0.0, f64::max);
    let beside = widest + KNEE + OFFSET_SAMPLE + 1.5;
    let side = if matches!(place.labels, OffsetLabels::LeftEdge) {
        -1.0
    } else {
        1.0
    };
    let (left, right) = if side < 0.0 { (beside, 0.0) } else { (0.0, beside) };
    let window = area.inset(left, 0.0, right, 0.0);
    let view = View {
        area: window,
        center: place.center,
        scale: window.height / place.height_mm,
        turn_rad: place.turn_rad,
    };
    let drawn = Group::new().add(rectangle("window", window));
    let mut drawn = material(drawn, plan, place, (&view, lengths));
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
    let column = Area::new(column, window.y, beside, window.height - 1.0);
    let offsets = offset_labels(ends, lengths, column, side);
    drawn = drawn.add(offsets.set("id", format!("inset-{letter}-offsets")));
    scale_bar(
        drawn.add(rectangle("edge", window)),
        place,
        (&view, lengths),
        letter,
    )
}

/// Adds the material in view, what the wire leaves of it, the contours, and what the skims meet.
fn material(
    mut drawn: Group,
    plan: &Plan,
    place: &InsetPlace<'_>,
    (view, lengths): (&View, Lengths),
) -> Group {
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
    drawn.add(overload::inset(plan, place.contour, view, lengths))
}

/// Adds a scale bar on a backing that keeps it legible.
fn scale_bar(drawn: Group, place: &InsetPlace<'_>, (view, lengths): (&View, Lengths), letter: char) -> Group {
    let window = view.area;
    let (bar_width, words) = round_bar(0.4 * window.width, view.scale, lengths);
    let bar_y = if place.bar_on_top {
        window.y + 3.2
    } else {
        window.bottom() - 2.2
    };
    let bar_at = spot(window.x + 3.0, bar_y);
    let backing = Area::new(
        window.x + 1.5,
        bar_y - 2.2,
        bar_width + width(&words, SMALL) + 4.0,
        3.6,
    );
    let id = format!("inset-{letter}-scale-bar");
    drawn
        .add(rectangle("paper", backing).set("fill-opacity", "0.8"))
        .add(bar(&id, bar_at, bar_width, &words))
}

/// Number and offset of a pass.
fn offset_words(pass: &Pass, lengths: Lengths) -> String {
    format!("pass {}  {}", pass.pass, um_in_full(pass.offset_mm, lengths))
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
fn offset_labels(
    mut ends: Vec<(&Pass, String, SheetSpot)>,
    lengths: Lengths,
    column: Area,
    side: f64,
) -> Group {
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
        let knee = spot(near + side * KNEE, level);
        let sample_end = spot(knee.x + side * OFFSET_SAMPLE, level);
        let words = offset_words(pass, lengths);
        let at = spot(sample_end.x + side, level);
        let anchor = if side < 0.0 { Anchor::End } else { Anchor::Start };
        drawn = drawn
            .add(line("dimension", end, knee))
            .add(line(&class, knee, sample_end))
            .add(Lettering::anchored(anchor, "", LARGE).write_level(at, column.width, &words));
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
            (after.x, after.y, tan(sweep / 4.0)),
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
