//! The part itself: what is kept, the contour, the wire's centre line of every pass, and marks.

use svg::node::element::{Circle, Group};

use super::dimension::{dimensions, scale_bar};
use super::labels::{Labels, around};
use super::sheet::{Anchor, Area, Spot, arrow_head, coordinate, group, line, path, rectangle, spot, text};
use super::view::View;
use super::{Content, ink};
use crate::contour::{Contour, Role};
use crate::finding::{Finding, Severity};
use crate::geometry::{Bounds, Vector};
use crate::job::Use;
use crate::plan::Plan;
use crate::report::number::{short, um};
use crate::report::same_name;

/// A drawn part.
pub(super) struct Part {
    pub(super) drawn: Group,
    pub(super) scale_words: String,
}

/// Room for the dimensions, scale bar and edge.
const MARGINS: (f64, f64, f64, f64) = (13.0, 6.0, 6.0, 17.0);
/// Loops in all above which a pass is one path without hover texts.
const SINGLE_LOOPS: usize = 4000;
/// A contour smaller than this on the sheet has neither number nor arrow, mm.
const LABELLED: f64 = 5.0;
/// Contours smaller than this on the sheet make all lines thin, mm.
const FINE: f64 = 2.5;
/// Most labels of a kind.
const MOST_LABELS: usize = 150;

/// Draws the part into `area`.
pub(super) fn draw(content: &Content<'_>, area: Area) -> Part {
    let (part_bounds, bounds) = bounds(content);
    let (left, top, right, bottom) = MARGINS;
    let view = View::holding(bounds, area.inset(left, top, right, bottom));
    let mut labels = Labels::within(area.inset(1.0, 1.0, 1.0, 7.0));
    let dimensions = dimensions(&view, part_bounds, bounds, &mut labels);
    let class = weight_class(content, &view);
    let mut part = drawing(content, &view);
    if let Some(plan) = content.plan {
        part = part.add(unreached(plan, &view));
    }
    let marks = marks(content, &view, &mut labels);
    let numbers = numbers(content, &view, &mut labels);
    let drawn = group("part-view")
        .set("class", class)
        .add(rectangle("window", area))
        .add(part)
        .add(dimensions)
        .add(numbers)
        .add(marks)
        .add(scale_bar(&view, area));
    Part {
        drawn,
        scale_words: view.scale_words(),
    }
}

/// Draws what can be magnified, without marks, numbers and dimensions, and says where it lies.
pub(super) fn overlay(content: &Content<'_>, area: Area) -> (Group, View) {
    const EDGE: f64 = 8.0;
    let (_, bounds) = bounds(content);
    let view = View::holding(bounds, area.inset(EDGE, EDGE, EDGE, EDGE));
    let class = weight_class(content, &view);
    let drawn = group("part-view")
        .set("class", class)
        .add(drawing(content, &view));
    (drawn, view)
}

/// Bounds of what bounds material, and of all that is drawn.
fn bounds(content: &Content<'_>) -> (Bounds, Bounds) {
    let list = &content.inspection.contours.list;
    let around = |bounds: Bounds, contour: &Contour| bounds.union(contour.bounds);
    let shown_bounds = list.iter().filter(shown).fold(Bounds::EMPTY, around);
    let part_bounds = list.iter().filter(material).fold(Bounds::EMPTY, around);
    let kerfs = content.plan.iter().flat_map(|plan| {
        plan.paths
            .loops
            .iter()
            .map(|wire| wire.polyline.bounds().grown(kerf_reach_mm(plan)))
    });
    (part_bounds, kerfs.fold(shown_bounds, Bounds::union))
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
fn drawing(content: &Content<'_>, view: &View) -> Group {
    let mut drawn = group("part").add(kept(content, view));
    if let Some(plan) = content.plan {
        drawn = drawn.add(kerf(plan, view));
    }
    drawn = drawn.add(contours(content, view));
    if let Some(plan) = content.plan {
        drawn = drawn.add(starts(plan, view));
        for passes in wires(plan, view) {
            drawn = drawn.add(passes);
        }
    }
    drawn
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the shape that `filter` asks for"
)]
fn shown(contour: &&Contour) -> bool {
    contour.purpose != Use::Ignore
}

/// Whether it bounds material.
#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the shape that `filter` asks for"
)]
fn material(contour: &&Contour) -> bool {
    matches!(contour.purpose, Use::Cut | Use::Existing | Use::Blank)
}

/// Size of the smallest contour to be cut, mm.
fn finest_mm(content: &Content<'_>) -> f64 {
    let cut = content
        .inspection
        .contours
        .list
        .iter()
        .filter(|contour| contour.purpose == Use::Cut);
    cut.map(|contour| contour.bounds.width().max(contour.bounds.height()))
        .fold(f64::INFINITY, f64::min)
}

/// How far the spark of the rough cut reaches from the wire's centre, mm.
fn kerf_reach_mm(plan: &Plan) -> f64 {
    let gaps = passes(plan).map(|(_, pass, _)| pass.spark_gap_mm);
    plan.ask.wire_mm / 2.0 + gaps.fold(0.0, f64::max)
}

/// Material that stays: even-odd over all loops that bound material.
fn kept(content: &Content<'_>, view: &View) -> Group {
    let loops: Vec<&Contour> = content
        .inspection
        .contours
        .list
        .iter()
        .filter(material)
        .filter(|contour| contour.polyline.closed)
        .collect();
    let mut data: String = loops.iter().map(|contour| view.data(&contour.polyline)).collect();
    // An opening with nothing round it lies in a blank that the drawing does not show.
    if loops
        .iter()
        .any(|contour| contour.role == Role::Opening && contour.parent.is_none())
    {
        data.push_str(&view.area.inset(-3.0, -3.0, -3.0, -3.0).data());
    }
    group("material-kept").add(path("kept", data, None))
}

/// Each loop's pass, by number of the group and pass; the passes of a group in order.
fn passes(plan: &Plan) -> impl Iterator<Item = (usize, &crate::pass::Pass, usize)> {
    plan.groups.iter().flat_map(|group| {
        group
            .passes
            .iter()
            .map(move |pass| (group.group, pass, group.passes.len()))
    })
}

fn kerf(plan: &Plan, view: &View) -> Group {
    let mut drawn = group("kerf-of-rough-cut");
    for (number, pass, _) in passes(plan).filter(|(_, pass, _)| pass.pass == 1) {
        let width = (plan.ask.wire_mm + 2.0 * pass.spark_gap_mm) * view.scale;
        let loops = plan
            .paths
            .loops
            .iter()
            .filter(|wire| wire.group == number && wire.pass == 1);
        let data: String = loops.map(|wire| view.data(&wire.polyline)).collect();
        drawn = drawn.add(path("kerf", data, None).set("stroke-width", coordinate(width)));
    }
    drawn
}

fn contours(content: &Content<'_>, view: &View) -> Group {
    let mut drawn = group("contours");
    for contour in content.inspection.contours.list.iter().filter(shown) {
        let class = match (contour.purpose, contour.role) {
            (Use::Cut, Role::Open) => "contour open",
            (Use::Cut, _) => "contour",
            (Use::Existing, _) => "contour existing",
            _ => "contour reference",
        };
        let hover = format!("contour {}: {} mm", contour.id, short(contour.perimeter_mm, 4));
        let line = path(class, view.data(&contour.polyline), Some(hover));
        drawn = drawn.add(line.set("data-contour", contour.id));
    }
    drawn
}

/// One group a pass.
fn wires(plan: &Plan, view: &View) -> Vec<Group> {
    let single = plan.paths.loops.len() <= SINGLE_LOOPS;
    passes(plan)
        .map(|(number, pass, count)| {
            let class = ink::pass_class(pass.pass, count);
            let loops = plan
                .paths
                .loops
                .iter()
                .filter(|wire| wire.group == number && wire.pass == pass.pass);
            let drawn = group(&format!("wire-centre-group-{number}-pass-{}", pass.pass))
                .set("data-group", number)
                .set("data-pass", pass.pass);
            if single {
                loops.fold(drawn, |drawn, wire| {
                    let hover = format!(
                        "contour {}, pass {}: {} µm from the wall, {} mm long",
                        wire.contour,
                        wire.pass,
                        um(pass.offset_mm),
                        short(wire.length_mm, 4)
                    );
                    let line = path(&class, view.data(&wire.polyline), Some(hover));
                    drawn.add(line.set("data-contour", wire.contour))
                })
            } else {
                drawn.add(path(
                    &class,
                    loops.map(|wire| view.data(&wire.polyline)).collect(),
                    None,
                ))
            }
        })
        .collect()
}

fn unreached(plan: &Plan, view: &View) -> Group {
    const MANY: usize = 100;
    let radius = if plan.paths.unreached.len() > MANY {
        0.35
    } else {
        RING
    };
    let mut drawn = group("unreached");
    for place in &plan.paths.unreached {
        let at = view.place(place.at);
        let hover = format!(
            "not reached on contour {}: up to {} µm of material stays",
            place.contour,
            um(place.deviation_mm)
        );
        drawn = drawn.add(dot("unreached", at, radius).add(svg::node::element::Title::new(hover)));
    }
    drawn
}

/// Radius of the sign of a place that is not reached, mm.
const RING: f64 = 0.9;

/// The sign of a place that is not reached.
pub(super) fn ring(at: Spot) -> Circle {
    dot("unreached", at, RING)
}

pub(super) fn dot(class: &str, at: Spot, radius: f64) -> Circle {
    Circle::new()
        .set("class", class)
        .set("cx", coordinate(at.x))
        .set("cy", coordinate(at.y))
        .set("r", coordinate(radius))
}

/// An arrow where each rough pass starts, the way it runs.
fn starts(plan: &Plan, view: &View) -> Group {
    let (shortest, longest) = (1.2, 3.2);
    let large = |bounds: Bounds| bounds.width().max(bounds.height()) * view.scale >= LABELLED;
    let loops = plan
        .paths
        .loops
        .iter()
        .filter(|wire| wire.pass == 1 && large(wire.polyline.bounds()));
    let mut drawn = group("start-directions");
    for wire in loops.take(MOST_LABELS) {
        let bounds = wire.polyline.bounds();
        let length = (0.2 * bounds.width().min(bounds.height()) * view.scale).clamp(shortest, longest);
        let first = wire.polyline.segment(0);
        let along = first.direction(0.0);
        // The arrow head stands on the line just after the start.
        let start = view.place(first.from);
        let tip = spot(start.x + along.x * length, start.y - along.y * length);
        drawn = drawn.add(arrow_head("start", tip, (along.x, -along.y), length));
    }
    drawn
}

fn numbers(content: &Content<'_>, view: &View, labels: &mut Labels) -> Group {
    const SIZE: f64 = 2.6;
    let mut drawn = group("contour-numbers");
    let contours = content.inspection.contours.list.iter().filter(material);
    let large = contours
        .filter(|contour| contour.bounds.width().max(contour.bounds.height()) * view.scale >= LABELLED);
    for contour in large.take(MOST_LABELS) {
        let words = contour.id.to_string();
        let width = super::text::width(&words, SIZE);
        if let Some(center) = labels.first_free(width + 0.6, SIZE + 0.4, beside(contour, view)) {
            let at = spot(center.x, center.y + SIZE * 0.36);
            drawn = drawn.add(text(
                "strong number",
                at,
                Anchor::Middle,
                SIZE,
                2.0 * width,
                &words,
            ));
        }
    }
    drawn
}

/// Places beside the longest segments of a contour, on the side of the material.
fn beside(contour: &Contour, view: &View) -> Vec<Spot> {
    const AWAY: f64 = 2.6;
    const SEGMENTS: usize = 6;
    let mut segments: Vec<_> = contour.polyline.segments().collect();
    segments.sort_by(|a, b| b.length().total_cmp(&a.length()));
    let side = if contour.role == Role::Opening { -1.0 } else { 1.0 };
    let place = |(segment, t): (crate::geometry::Segment, f64)| {
        let at = view.place(segment.at(t));
        let away: Vector = segment.direction(t).left() * side;
        spot(at.x + away.x * AWAY, at.y - away.y * AWAY)
    };
    let along = |segment| [(segment, 0.5), (segment, 0.25), (segment, 0.75)];
    segments
        .into_iter()
        .take(SEGMENTS)
        .flat_map(along)
        .map(place)
        .collect()
}

/// A numbered mark at each finding that has a place.
fn marks(content: &Content<'_>, view: &View, labels: &mut Labels) -> Group {
    const RADIUS: f64 = 2.1;
    const SIZE: f64 = 2.3;
    const FEW: usize = 20;
    /// Most marks of one name.
    const EACH: usize = 15;
    let mut drawn = group("findings-marked");
    let findings = &content.inspection.findings;
    // Where there are many, notes would hide what matters.
    let few = findings.iter().filter(|finding| finding.at.is_some()).count() <= FEW;
    let marked = |finding: &Finding| few || finding.severity != Severity::Note;
    let numbered = same_name(findings).scan(1, |next, run| {
        let first = *next;
        *next += run.len();
        Some((first..).zip(run).take(EACH))
    });
    for (number, finding) in numbered.flatten().filter(|(_, finding)| marked(finding)) {
        let Some(point) = finding.at else { continue };
        let at = view.place(point);
        let on_sheet = Area::new(at.x, at.y, 0.0, 0.0);
        if !view.area.inset(-5.0, -5.0, -5.0, -5.0).contains(on_sheet) {
            continue;
        }
        let Some(center) = labels.first_free(2.0 * RADIUS + 0.4, 2.0 * RADIUS + 0.4, around(at)) else {
            continue;
        };
        let (bubble, ink) = match finding.severity {
            Severity::Error => ("mark-error", "strong on-dark"),
            Severity::Warning | Severity::Note => ("mark", "strong"),
        };
        let words = number.to_string();
        let label = spot(center.x, center.y + SIZE * 0.36);
        drawn = drawn.add(
            group(&format!("finding-{number}"))
                .add(svg::node::element::Title::new(format!(
                    "{}: {}",
                    finding.name, finding.message
                )))
                .add(line("mark-leader", at, center))
                .add(dot("mark-point", at, 0.45))
                .add(dot(bubble, center, RADIUS))
                .add(text(ink, label, Anchor::Middle, SIZE, 2.0 * RADIUS + 1.0, &words)),
        );
    }
    drawn
}
