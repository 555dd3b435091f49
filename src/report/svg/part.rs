//! The part itself: what is kept, the contour, the wire's centre line of every pass, and marks.

use std::collections::BTreeMap;
use svg::node::element::Group;

use super::detail::Detail;
use super::dimension::{dimensions, scale_bar};
use super::inset::InsetPlace;
use super::labels::Labels;
use super::marks;
use super::register::Register;
use super::sheet::{Area, coordinate, group, path, rectangle};
use super::view::View;
use super::{Content, holding, overload, starts, style};
use crate::contour::{Contour, Role};
use crate::geometry::{Bounds, Polyline};
use crate::id::GroupId;
use crate::job::Purpose;
use crate::message::number::fixed;
use crate::message::{Lengths, Message, message, mm, um_of_mm};
use crate::plan::Plan;
use crate::report::words;
use crate::toolpath::WireLoop;

/// A drawn part.
pub(super) struct DrawnPart<'a> {
    pub(super) drawn: Group,
    pub(super) scale_words: String,
    /// What is not drawn of it, in words.
    pub(super) left_out: Option<String>,
    /// The labels that found no place on it.
    pub(super) register: Register<'a>,
}

/// Room for the dimensions, scale bar and edge.
const MARGINS: (f64, f64, f64, f64) = (13.0, 7.0, 6.0, 19.0);
/// Contours smaller than this on the sheet make all lines thin, mm.
const FINE: f64 = 2.5;

/// Returns where in an area the number of the sheet stands.
pub(super) fn number_room(area: Area) -> Area {
    Area::new(area.right() - 43.0, area.y + 1.0, 41.0, 5.0)
}

/// Returns what of an area is left for the part.
pub(super) fn room(area: Area) -> Area {
    let (left, top, right, bottom) = MARGINS;
    area.inset(left, top, right, bottom)
}

/// Draws the part into `area` as `fit` makes it fit, with the letters of the insets that magnify `places`.
pub(super) fn draw<'a>(
    content: &Content<'a>,
    places: &[InsetPlace<'_>],
    area: Area,
    fit: fn(Bounds, Area) -> View,
) -> DrawnPart<'a> {
    let (part_bounds, bounds) = bounds(content);
    let view = fit(bounds, room(area));
    let mut register = Register::default();
    let detail = Detail::of(content, &view);
    let mut labels = Labels::within(area.inset(1.0, 1.0, 1.0, 9.0));
    labels.take(number_room(area));
    for contour in content.inspection.contours.list.iter().filter(shown) {
        labels.draw(&view, &contour.polyline);
    }
    // Of many, the paths lie on their contours.
    if detail.is_all() {
        for wire in content.plan.iter().flat_map(|plan| &plan.toolpaths.loops) {
            labels.draw(&view, &wire.polyline);
        }
        for run in content.plan.iter().flat_map(|plan| &plan.process.leads) {
            labels.draw(&view, &run.lead_in);
        }
    }
    let dimensions = dimensions(&view, (part_bounds, bounds), content.lengths, &mut labels);
    marks::keep_places(content, &view, &mut labels);
    let class = weight_class(content, &view);
    let mut part = drawing(content, &view, detail);
    let mut stops = group("stops-marked");
    if let Some(plan) = content.plan {
        part = part.add(marks::unreached(plan, &view, detail, content.lengths));
        stops = holding::stops(plan, (&view, content.lengths), &mut labels, &mut register);
    }
    let findings = marks::findings(content, &view, &mut labels);
    let insets = marks::insets(places, &view, &mut labels);
    let numbers = marks::numbers(content, &view, &mut labels, &mut register);
    let order = content
        .plan
        .map(|plan| starts::numbers(plan, (&view, content.lengths), &mut labels, &mut register));
    let drawn = group("part-view")
        .set("class", class)
        .add(rectangle("window", area))
        .add(part)
        .add(dimensions)
        .add(stops)
        .add(numbers)
        .add(insets)
        .add(order.unwrap_or_else(|| group("order-of-cutting")))
        .add(findings)
        .add(scale_bar(&view, area, content.lengths));
    DrawnPart {
        drawn,
        scale_words: view.scale_words(),
        left_out: detail.words(content),
        register,
    }
}

/// Draws what can be magnified, without marks, numbers and dimensions, and says where it lies.
pub(super) fn overlay(content: &Content<'_>, area: Area) -> (Group, View, Detail) {
    const EDGE: f64 = 8.0;
    let (_, bounds) = bounds(content);
    let view = View::filling(bounds, area.inset(EDGE, EDGE, EDGE, EDGE));
    let detail = Detail::of(content, &view);
    let drawn = group("part-view")
        .set("class", weight_class(content, &view))
        .add(drawing(content, &view, detail));
    (drawn, view, detail)
}

/// Bounds of what bounds material, and of all that is drawn.
pub(super) fn bounds(content: &Content<'_>) -> (Bounds, Bounds) {
    let list = &content.inspection.contours.list;
    let around = |bounds: Bounds, contour: &Contour| bounds.union(contour.bounds);
    let shown_bounds = list.iter().filter(shown).fold(Bounds::EMPTY, around);
    let part_bounds = list.iter().filter(marks::material).fold(Bounds::EMPTY, around);
    let kerfs = content.plan.iter().flat_map(|plan| {
        plan.toolpaths
            .loops
            .iter()
            .map(|wire| wire.polyline.bounds().grown(kerf_reach_mm(plan)))
    });
    let blank = content.plan.and_then(|plan| plan.process.blank.as_ref());
    let blank_bounds = blank.map_or(Bounds::EMPTY, |blank| blank.outline.bounds());
    let starts = content.plan.iter().flat_map(|plan| starts::bounds(plan));
    let all = kerfs.chain(starts);
    (
        part_bounds,
        all.fold(shown_bounds.union(blank_bounds), Bounds::union),
    )
}

/// Of many small contours only thin lines leave anything to see.
fn weight_class(content: &Content<'_>, view: &View) -> &'static str {
    if finest_mm(content) * view.scale < FINE {
        "fine"
    } else {
        ""
    }
}

/// What is kept, the contours and the wire's paths.
fn drawing(content: &Content<'_>, view: &View, detail: Detail) -> Group {
    let mut drawn = group("part");
    if let Some(plan) = content.plan {
        drawn = drawn.add(holding::blank(plan, view, detail));
    }
    drawn = drawn.add(kept(content, view, detail));
    if let Some(plan) = content.plan {
        drawn = drawn
            .add(holding::clamps(plan, view, content.lengths))
            .add(kerf(plan, view, detail))
            .add(overload::part(plan, view, detail, content.lengths));
    }
    drawn = drawn.add(contours(content, view, detail));
    if let Some(plan) = content.plan {
        for passes in wires(plan, view, detail, content.lengths) {
            drawn = drawn.add(passes);
        }
        drawn = drawn
            .add(holding::pieces(plan, (view, content.lengths), detail))
            .add(starts::starts(plan, (view, content.lengths), detail))
            .add(starts::travel(plan, view, content.lengths));
    }
    drawn
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the shape that `filter` asks for"
)]
fn shown(contour: &&Contour) -> bool {
    contour.purpose != Purpose::Ignore
}

/// Size of the smallest contour to be cut, mm.
fn finest_mm(content: &Content<'_>) -> f64 {
    let cut = content
        .inspection
        .contours
        .list
        .iter()
        .filter(|contour| contour.purpose.is_cut());
    cut.map(|contour| contour.bounds.width().max(contour.bounds.height()))
        .fold(f64::INFINITY, f64::min)
}

/// How far the spark of the rough cut reaches from the wire's centre, mm.
fn kerf_reach_mm(plan: &Plan) -> f64 {
    let gaps = passes(plan).map(|(_, pass, _)| pass.spark_gap_mm);
    plan.setup.wire_mm / 2.0 + gaps.fold(0.0, f64::max)
}

/// Material that stays: even-odd over all loops that bound material. Of a plate that stays round an opening the parts that are cut out of it
/// stay as well: they are parted from it by their kerf alone.
fn kept(content: &Content<'_>, view: &View, detail: Detail) -> Group {
    let all = &content.inspection.contours.list;
    let loops = || all.iter().filter(|contour| contour.keeps_known_side());
    let is_outermost = |contour: &Contour, role: Role| contour.role == role && contour.parent.is_none();
    let plate = loops()
        .filter(|contour| is_outermost(contour, Role::Opening))
        .map(|contour| contour.bounds)
        .reduce(Bounds::union);
    let mut data: String = loops()
        .filter(|contour| plate.is_none() || !is_outermost(contour, Role::Outside))
        .map(|contour| detail.data(view, &contour.polyline))
        .collect();
    // What a trim cuts off does not stay.
    let rough = content.plan.iter().flat_map(|plan| &plan.toolpaths.loops);
    let rough = rough.filter(|wire| wire.pass.is_rough());
    for waste in rough.filter_map(|wire| wire.open.as_ref()?.waste.as_ref()) {
        data.push_str(&detail.data(view, waste));
    }
    // An opening with nothing round it lies in the blank, which the drawing may not show.
    if let Some(openings) = plate {
        let mut blanks = all
            .iter()
            .filter(|contour| contour.purpose == Purpose::Blank && contour.polyline.closed);
        let blank = blanks.find(|blank| blank.bounds.contains_bounds(openings));
        data.push_str(&match blank {
            Some(blank) => detail.data(view, &blank.polyline),
            None => view.area.inset(-3.0, -3.0, -3.0, -3.0).data(),
        });
    }
    group("material-kept").add(path("kept", data, None))
}

/// Returns each loop's pass, by number of the group and pass; the passes of a group in order.
fn passes(plan: &Plan) -> impl Iterator<Item = (GroupId, &crate::pass::Pass, usize)> {
    plan.groups.iter().flat_map(|group| {
        group
            .passes()
            .iter()
            .map(move |pass| (group.group, pass, group.passes().len()))
    })
}

/// Draws the rough cut's kerf as a band. A band thinner than the line of the contour would not be seen.
fn kerf(plan: &Plan, view: &View, detail: Detail) -> Group {
    const THINNEST_COARSE: f64 = 0.15;
    let mut drawn = group("kerf-of-rough-cut");
    for (id, pass, _) in passes(plan).filter(|(_, pass, _)| pass.pass.is_rough()) {
        let width = (plan.setup.wire_mm + 2.0 * pass.spark_gap_mm) * view.scale;
        if !detail.is_all() && width < THINNEST_COARSE {
            continue;
        }
        let loops = plan
            .toolpaths
            .loops
            .iter()
            .filter(|wire| wire.group == id && wire.pass.is_rough());
        let data: String = loops.map(|wire| detail.data(view, &wire.polyline)).collect();
        drawn = drawn.add(path("kerf", data, None).set("stroke-width", coordinate(width)));
    }
    drawn
}

fn contours(content: &Content<'_>, view: &View, detail: Detail) -> Group {
    let drawn = group("contours");
    let list = content.inspection.contours.list.iter().filter(shown);
    if detail.is_all() {
        return list.fold(drawn, |drawn, contour| {
            let data = view.data(&contour.polyline);
            let line = path(
                contour_class(contour),
                data,
                Some(contour_words(contour, content.lengths)),
            );
            drawn.add(line.set("data-contour", contour.id.number()))
        });
    }
    let mut by_class: BTreeMap<&str, String> = BTreeMap::new();
    for contour in list {
        let data = by_class.entry(contour_class(contour)).or_default();
        data.push_str(&detail.data(view, &contour.polyline));
    }
    by_class
        .into_iter()
        .fold(drawn, |drawn, (class, data)| drawn.add(path(class, data, None)))
}

fn contour_class(contour: &Contour) -> &'static str {
    match (contour.purpose, contour.role) {
        (Purpose::Cut, Role::Open) => "contour open",
        (Purpose::Cut | Purpose::Slit | Purpose::Trim, _) => "contour",
        (Purpose::Existing | Purpose::NotNow, _) => "contour existing",
        _ => "contour reference",
    }
}

fn contour_words(contour: &Contour, lengths: Lengths) -> String {
    let radius = match contour.min_inside_radius_mm {
        Some(0.0) => Some(message!(", sharp inside corners")),
        Some(radius) => Some(message!(", smallest inside radius {}", mm(radius).at_most(4))),
        None => None,
    };
    let words = message!(
        "contour {}, {}: {} long{}",
        contour.id,
        words::role(contour.role),
        mm(contour.perimeter_mm).at_most(4),
        radius
    );
    words.shown(lengths)
}

/// One group a pass.
fn wires(plan: &Plan, view: &View, detail: Detail, lengths: Lengths) -> Vec<Group> {
    passes(plan)
        .filter(|(_, pass, count)| detail.shows_pass(pass.pass, *count))
        .map(|(id, pass, count)| {
            let class = style::pass_class(pass.pass, count);
            let loops = plan
                .toolpaths
                .loops
                .iter()
                .filter(|wire| wire.group == id && wire.pass == pass.pass);
            let drawn = group(&format!("wire-centre-group-{id}-pass-{}", pass.pass))
                .set("data-group", id.number())
                .set("data-pass", pass.pass.number());
            if detail.is_all() {
                loops.fold(drawn, |drawn, wire| {
                    let minutes = wire.length_mm * plan.setup.thickness_mm / pass.area_rate_mm2_min.expected;
                    let hover = wire_words(wire, pass.offset_mm, minutes).shown(lengths);
                    let line = path(&class, view.data(&wire.polyline), Some(hover));
                    drawn.add(line.set("data-contour", wire.contour.number()))
                })
            } else {
                let data = loops.map(|wire| detail.data(view, &wire.polyline)).collect();
                drawn.add(path(&class, data, None))
            }
        })
        .collect()
}

fn wire_words(wire: &WireLoop, offset_mm: f64, minutes: f64) -> Message {
    let radius = smallest_radius_mm(&wire.polyline);
    let radius = radius.map(|radius_mm| message!(", smallest radius {}", mm(radius_mm).at_most(4)));
    message!(
        "contour {}, pass {}: {} from the wall, {} long{}, {} min",
        wire.contour,
        wire.pass,
        um_of_mm(offset_mm).at_most(1),
        mm(wire.length_mm).at_most(4),
        radius,
        fixed(minutes, 1)
    )
}

fn smallest_radius_mm(polyline: &Polyline) -> Option<f64> {
    let arcs = polyline.segments().filter(|segment| segment.is_arc());
    arcs.map(crate::geometry::Segment::radius).min_by(f64::total_cmp)
}
