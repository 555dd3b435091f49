//! Numbers, letters and signs on the part: contours, findings, insets, places that are not reached.

use std::fmt::Write as _;

use svg::node::element::Group;

use super::Content;
use super::detail::Detail;
use super::inset::{self, InsetPlace};
use super::labels::{Labels, around};
use super::register::Register;
use super::sheet::{Area, Lettering, SMALL, SheetSpot, coordinate, group, line, path, spot, title};
use super::signs::{LABELLED, MOST_LABELS, RING, dot};
use super::text::BOLD;
use super::view::View;
use crate::check::group_findings;
use crate::contour::{Contour, Role};
use crate::finding::{Finding, Severity};
use crate::geometry::{Segment, Vector};
use crate::job::Purpose;
use crate::message::{Lengths, message, um_of_mm};
use crate::plan::Plan;
use crate::report::words;

/// The places that no path of the last pass reaches.
pub(super) fn unreached(plan: &Plan, view: &View, detail: Detail, lengths: Lengths) -> Group {
    const MANY: usize = 100;
    let places = &plan.toolpaths.unreached;
    let drawn = group("unreached");
    if !detail.is_all() {
        let mut dots = String::new();
        for place in places {
            let at = view.place(place.at);
            let _ = write!(dots, "M{} {}h0", coordinate(at.x), coordinate(at.y));
        }
        return if dots.is_empty() {
            drawn
        } else {
            drawn.add(path("unreached-dots", dots, None))
        };
    }
    let radius = if places.len() > MANY { 0.35 } else { RING };
    places.iter().fold(drawn, |drawn, place| {
        let hover = message!(
            "not reached on contour {}: up to {} of material stays",
            place.contour,
            um_of_mm(place.deviation_mm).at_most(1)
        );
        let sign = dot("unreached", view.place(place.at), radius);
        drawn.add(sign.add(title(&hover.shown(lengths))))
    })
}

/// Letters of the insets, each at what it magnifies.
pub(super) fn insets(places: &[InsetPlace<'_>], view: &View, labels: &mut Labels) -> Group {
    const SIZE: f64 = SMALL;
    const RADIUS: f64 = 1.3;
    let mut drawn = group("insets-marked");
    for (i, place) in places.iter().enumerate() {
        let at = view.place(place.at);
        let words = inset::letter(i).to_string();
        drawn = drawn.add(dot("inset-place", at, RADIUS));
        if let Some(center) = labels.first_free(SIZE + 0.4, SIZE + 0.4, around(at)) {
            drawn = drawn
                .add(line(
                    "mark-leader",
                    rim(at, center, RADIUS),
                    rim(center, at, SIZE * 0.62),
                ))
                .add(Lettering::middle("strong number", SIZE).write_level(center, 2.0 * SIZE, &words));
        }
    }
    drawn
}

/// Returns the point of a circle round `center` nearest to `towards`.
fn rim(center: SheetSpot, towards: SheetSpot, radius: f64) -> SheetSpot {
    let away = Vector::new(towards.x - center.x, towards.y - center.y);
    let away = away.normalized().unwrap_or_default() * radius;
    spot(center.x + away.x, center.y + away.y)
}

/// Draws the numbers of the large contours; those that find no place are left to the register.
pub(super) fn numbers<'a>(
    content: &Content<'a>,
    view: &View,
    labels: &mut Labels,
    register: &mut Register<'a>,
) -> Group {
    const SIZE: f64 = SMALL;
    let mut drawn = group("contour-numbers");
    let large =
        |contour: &&Contour| contour.bounds.width().max(contour.bounds.height()) * view.scale >= LABELLED;
    let mut numbered = 0;
    let numbered_ones = |contour: &&Contour| material(contour) || contour.purpose.is_open_cut();
    for contour in content.inspection.contours.list.iter().filter(numbered_ones) {
        let words = contour.id.to_string();
        let width = super::text::width(&words, SIZE) * BOLD;
        let is_tried = large(&contour) && numbered < MOST_LABELS;
        let center = is_tried
            .then(|| labels.first_free(width + 0.6, SIZE + 0.4, alternatives(contour, view)))
            .flatten();
        let Some(center) = center else {
            register.contours.push(contour);
            continue;
        };
        numbered += 1;
        let number = Lettering::middle("strong number", SIZE).write_level(center, 2.0 * width, &words);
        drawn = drawn.add(number.set("data-label", "contour"));
    }
    drawn
}

/// Whether it bounds material.
#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the shape that `filter` asks for"
)]
pub(super) fn material(contour: &&Contour) -> bool {
    contour.purpose.is_edge() || contour.purpose == Purpose::Blank
}

/// Places beside the longest segments of a contour: inside it, unless it is a small opening; then farther
/// inside it and on its other side.
fn alternatives(contour: &Contour, view: &View) -> Vec<SheetSpot> {
    const NEAR: f64 = 2.6;
    const FAR: f64 = 4.8;
    const SEGMENTS: usize = 6;
    /// An opening narrower than this on the sheet has its number in the material, mm.
    const ROOMY: f64 = 9.0;
    let mut segments: Vec<_> = contour.polyline.segments().enumerate().collect();
    let longest_first = |(i, a): &(usize, Segment), (j, b): &(usize, Segment)| {
        b.length().total_cmp(&a.length()).then(i.cmp(j))
    };
    if segments.len() > SEGMENTS {
        segments.select_nth_unstable_by(SEGMENTS, longest_first);
        segments.truncate(SEGMENTS);
    }
    segments.sort_unstable_by(longest_first);
    let narrow = contour.bounds.width().min(contour.bounds.height()) * view.scale < ROOMY;
    let side = if contour.role == Role::Opening && narrow {
        -1.0
    } else {
        1.0
    };
    let place = |segment: &Segment, t: f64, away_mm: f64| {
        let at = view.place(segment.at(t));
        let away: Vector = segment.direction(t).left() * away_mm;
        spot(at.x + away.x, at.y - away.y)
    };
    let others: &[f64] = match contour.role {
        Role::Opening if narrow => &[],
        Role::Opening => &[FAR, -NEAR],
        Role::Outside | Role::Open => &[-NEAR, -FAR],
    };
    let distances = [side * NEAR].into_iter().chain(others.iter().copied());
    distances
        .flat_map(|away_mm| {
            let longest = segments.iter().take(SEGMENTS);
            longest.flat_map(move |(_, segment)| [0.5, 0.25, 0.75].map(|t| place(segment, t, away_mm)))
        })
        .collect()
}

/// Returns the findings that are marked on the part, by the number of their group, with where they lie on the sheet.
fn marked<'a>(content: &'a Content<'_>, view: &View) -> Vec<(usize, &'a Finding, SheetSpot)> {
    const FEW: usize = 20;
    /// Most marks of one group.
    const EACH: usize = 15;
    let findings = &content.inspection.findings;
    // Where there are many, notes would hide what matters.
    let few = findings.iter().filter(|finding| finding.at.is_some()).count() <= FEW;
    let room = view.area.inset(-5.0, -5.0, -5.0, -5.0);
    let mut marked = Vec::new();
    for group in group_findings(findings) {
        let placed = group.placed.iter().map(|i| &findings[*i]);
        for finding in placed
            .take(EACH)
            .filter(|finding| few || finding.severity != Severity::Note)
        {
            let at = finding.at.map(|at| view.place(at));
            let at = at.filter(|at| room.contains(Area::new(at.x, at.y, 0.0, 0.0)));
            marked.extend(at.map(|at| (group.number, finding, at)));
        }
    }
    marked
}

/// Keeps words off the places of findings.
pub(super) fn keep_places(content: &Content<'_>, view: &View, labels: &mut Labels) {
    const AROUND: f64 = 0.6;
    for (_, _, at) in marked(content, view) {
        labels.take(Area::new(
            at.x - AROUND,
            at.y - AROUND,
            2.0 * AROUND,
            2.0 * AROUND,
        ));
    }
}

/// Draws a numbered mark at each finding that has a place.
pub(super) fn findings(content: &Content<'_>, view: &View, labels: &mut Labels) -> Group {
    const SIZE: f64 = SMALL;
    // Below every bubble: no leader crosses the number of another.
    let (mut leaders, mut bubbles) = (group("finding-leaders"), Group::new());
    for (number, finding, at) in marked(content, view) {
        let words = number.to_string();
        let radius = (0.9 * SIZE).max(0.5 * super::text::width(&words, SIZE) * BOLD + 0.3);
        let size = 2.0 * radius + 0.4;
        // The list has every finding.
        let Some(center) = labels.first_free(size, size, around(at)) else {
            continue;
        };
        let (bubble, ink) = match finding.severity {
            Severity::Error => ("mark-error", "strong on-dark"),
            Severity::Warning | Severity::Note => ("mark", "strong"),
        };
        leaders = leaders.add(line("mark-leader", at, center));
        bubbles = bubbles.add(
            Group::new()
                .set("class", format!("finding-{number}"))
                .add(title(&format!(
                    "{}: {}",
                    words::severity(finding.severity),
                    finding.message.in_unit(content.lengths)
                )))
                .add(dot("mark-point", at, 0.45))
                .add(dot(bubble, center, radius))
                .add(Lettering::middle(ink, SIZE).write_level(center, size + 1.0, &words)),
        );
    }
    group("findings-marked").add(leaders).add(bubbles)
}
