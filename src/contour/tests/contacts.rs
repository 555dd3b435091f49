//! Lines that cross, touch or run along one another.

use std::f64::consts::PI;

use super::super::*;
use super::{close, line, made, moved, sides};
use crate::id::ContourId;

#[test]
fn overlapping_lines_are_cut_and_kept_once() {
    // The lower side is drawn as two lines that share 4 mm; a stray line repeats part of the left side.
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    curves[0].1 = line(0.0, 0.0, 7.0, 0.0);
    curves.push(("0", line(10.0, 0.0, 3.0, 0.0)));
    curves.push(("0", line(0.0, 2.0, 0.0, 6.0)));
    let contours = made(curves);
    assert_eq!(contours.list.len(), 1);
    close(contours.list[0].perimeter_mm, 40.0);
    close(contours.list[0].area_mm2, 100.0);
    let mut lengths: Vec<f64> = contours.facts.overlaps.iter().map(|o| o.length_mm).collect();
    lengths.sort_by(f64::total_cmp);
    assert_eq!(lengths, [4.0, 4.0]);
    assert!(contours.facts.overlaps.iter().all(|o| o.repaired));
    assert!(contours.facts.duplicate_curves.is_empty());
}

#[test]
fn overlapping_arcs_are_kept_once() {
    let circle = Polyline::circle(Point::new(0.0, 0.0), 5.0);
    let (upper, lower) = (circle.segment(0), circle.segment(1));
    let arc =
        |from: Point, to: Point, bulge: f64| Polyline::open([(from.x, from.y, bulge), (to.x, to.y, 0.0)]);
    let three_quarters = (3.0 * PI / 8.0).tan();
    let curves = [
        ("0", arc(upper.from, upper.to, 1.0)),
        ("0", arc(lower.at(0.5), upper.at(1.0 - 1e-16), three_quarters)),
        ("0", arc(lower.from, lower.to, 1.0)),
    ];
    let contours = made(curves);
    assert_eq!(contours.list.len(), 1, "{:?}", contours.facts);
    close(contours.list[0].perimeter_mm, 10.0 * PI);
}

#[test]
fn a_line_on_the_side_of_a_closed_curve_gives_way() {
    let rectangle = Polyline::closed([
        (0.0, 0.0, 0.0),
        (10.0, 0.0, 0.0),
        (10.0, 5.0, 0.0),
        (0.0, 5.0, 0.0),
    ]);
    let contours = made([("0", line(2.0, 0.0, 6.0, 0.0)), ("0", rectangle)]);
    assert_eq!(contours.list.len(), 1);
    assert!(contours.facts.overlaps[0].repaired);
    assert!(contours.facts.touches.is_empty());
}

#[test]
fn crossings_touches_and_shared_sides_are_told_apart() {
    let square = |x: f64, y: f64| {
        Polyline::closed([
            (x, y, 0.0),
            (x + 10.0, y, 0.0),
            (x + 10.0, y + 10.0, 0.0),
            (x, y + 10.0, 0.0),
        ])
    };
    let facts = made([("0", square(0.0, 0.0)), ("0", square(5.0, 5.0))]).facts;
    assert_eq!((facts.crossings.len(), facts.touches.len()), (2, 0));
    assert_eq!(
        facts.crossings[0].contours,
        (ContourId::nth(1), ContourId::nth(2))
    );
    // Corner on corner.
    let facts = made([("0", square(0.0, 0.0)), ("0", square(10.0, 10.0))]).facts;
    assert_eq!((facts.crossings.len(), facts.touches.len()), (0, 1));
    // Corner on the middle of a side.
    let diamond = Polyline::closed([
        (10.0, 5.0, 0.0),
        (13.0, 2.0, 0.0),
        (16.0, 5.0, 0.0),
        (13.0, 8.0, 0.0),
    ]);
    let facts = made([("0", square(0.0, 0.0)), ("0", diamond)]).facts;
    assert_eq!((facts.crossings.len(), facts.touches.len()), (0, 1));
    // Circles touching from outside, crossing in a lens, crossing in a lens thinner than the tolerance.
    for (apart, crossings, touches) in [(4.0, 0, 1), (3.9, 2, 0), (4.0 - 1e-4, 0, 1), (4.1, 0, 0)] {
        let circles = [0.0, apart].map(|x| ("0", Polyline::circle(Point::new(x, 0.0), 2.0)));
        let facts = made(circles).facts;
        assert_eq!(
            (facts.crossings.len(), facts.touches.len()),
            (crossings, touches),
            "{apart}"
        );
    }
    // A side in common.
    let facts = made([("0", square(0.0, 0.0)), ("0", square(10.0, 2.0))]).facts;
    assert_eq!(
        (facts.crossings.len(), facts.touches.len(), facts.overlaps.len()),
        (0, 0, 1)
    );
    close(facts.overlaps[0].length_mm, 8.0);
    assert!(!facts.overlaps[0].repaired);
}

#[test]
fn a_bow_tie_crosses_itself_and_tangent_joints_do_not() {
    let tie = Polyline::closed([
        (0.0, 0.0, 0.0),
        (10.0, 10.0, 0.0),
        (10.0, 0.0, 0.0),
        (0.0, 10.0, 0.0),
    ]);
    let facts = made([("0", tie)]).facts;
    assert_eq!(facts.self_crossings.len(), 1);
    assert!(facts.self_crossings[0].at.distance(Point::new(5.0, 5.0)) < 1e-12);
    // Rounded rectangle whose coordinates carry 6 decimals, as drawings do.
    let round = |v: f64| (v * 1e6).round() / 1e6;
    let quarter = (PI / 8.0).tan();
    let r = 1.0 / 3.0;
    let corners = [
        (r, 0.0, 0.0),
        (10.0 - r, 0.0, quarter),
        (10.0, r, 0.0),
        (10.0, 5.0 - r, quarter),
        (10.0 - r, 5.0, 0.0),
        (r, 5.0, quarter),
        (0.0, 5.0 - r, 0.0),
        (0.0, r, quarter),
    ];
    for turn in 0..20 {
        let mut rounded = Polyline::closed(corners.map(|(x, y, b)| {
            let p = moved(Point::new(x, y), f64::from(turn) * 0.3, 7.0, -3.0, false);
            (round(p.x), round(p.y), b)
        }));
        rounded.vertices.rotate_left(turn as usize % 8);
        let facts = made([("0", rounded)]).facts;
        assert!(
            facts.self_crossings.is_empty() && facts.touches.is_empty(),
            "{facts:?}"
        );
    }
}

/// Circles of 10 mm whose middles lie within less than their diameter.
fn bundle(count: usize) -> Vec<(&'static str, Polyline)> {
    let middle = |i: usize| Point::new(0.7 * (i % 15) as f64, 0.71 * (i / 15) as f64);
    (0..count)
        .map(|i| ("0", Polyline::circle(middle(i), 10.0)))
        .collect()
}

#[test]
fn all_crossings_are_counted_where_the_first_are_listed() {
    // Two circles of one size whose middles are nearer than their diameter cross twice.
    let count = 110;
    let contours = made(bundle(count));
    assert_eq!(contours.facts.contacts.crossings, count * (count - 1));
    assert_eq!(contours.facts.crossings.len(), 10_000);
    assert!(!contours.facts.contacts.are_listed() && !contours.facts.contacts.cut_off);
}

#[test]
fn a_tangle_costs_no_more_than_is_allowed() {
    let circles = bundle(200);
    let curve = [0];
    let views: Vec<ContourView<'_>> = (circles.iter())
        .map(|(_, polyline)| ContourView {
            polyline,
            curves: &curve,
            sources: &[],
            passed_over: false,
        })
        .collect();
    let search = |pairs: usize, contacts: usize| {
        let allowed = contacts::Allowance { pairs, contacts };
        contacts::contacts_within(&views, &[], 1e-3, allowed).counts
    };
    let all = search(1_000_000, 100_000);
    assert_eq!((all.crossings, all.cut_off), (200 * 199, false));
    let some = search(1_000_000, 1_000);
    assert!(
        some.cut_off && some.crossings > 1_000 && some.crossings < 1_010,
        "{some:?}"
    );
    let few = search(500, 100_000);
    assert!(few.cut_off && few.crossings <= 500, "{few:?}");
}
