//! Which contour lies in which.

use std::f64::consts::PI;

use super::super::*;
use super::{line, made, sides};
use crate::geometry::Vector;

/// Depth and number of the parent, contour by contour.
fn nested(curves: Vec<(&'static str, Polyline)>) -> Vec<(usize, Option<usize>)> {
    let contours = made(curves).list;
    contours
        .iter()
        .map(|contour| (contour.depth, contour.parent.map(ContourId::number)))
        .collect()
}

fn circle(x: f64, y: f64, radius: f64) -> (&'static str, Polyline) {
    ("0", Polyline::circle(Point::new(x, y), radius))
}

/// A letter C of two arcs about the origin between radius 8 and 10, open to the right by 60°, in `n` chords an arc.
fn letter(n: usize) -> (&'static str, Polyline) {
    let along = |i: usize| PI / 6.0 + 10.0 * PI / 6.0 * i as f64 / n as f64;
    let at = |angle: f64, radius: f64| Vector::unit(angle) * radius;
    let out = (0..=n).map(|i| at(along(i), 10.0));
    let back = (0..=n).rev().map(|i| at(along(i), 8.0));
    ("0", Polyline::closed(out.chain(back).map(|p| (p.x, p.y, 0.0))))
}

/// Few segments are looked at one by one, many through an index: in the mouth of a C and in its bay is outside.
#[test]
fn what_lies_in_the_mouth_of_a_letter_does_not_lie_in_it() {
    for n in [12, 31, 32, 33, 200] {
        for (x, y, within) in [
            (9.0, 0.0, false),
            (0.0, 0.0, false),
            (-9.0, 0.0, true),
            (0.0, 9.0, true),
            (0.0, -9.0, true),
            (0.0, 7.0, false),
            (9.3, 9.3, false),
            (-9.3, 9.3, false),
        ] {
            let found = nested(vec![letter(n), circle(x, y, 0.3)]);
            let expected = if within { (1, Some(1)) } else { (0, None) };
            assert_eq!(found, [(0, None), expected], "{n} chords, {x} {y}");
        }
    }
}

#[test]
fn rings_in_rings_and_beside_each_other() {
    let mut curves: Vec<_> = (0..6)
        .map(|i| circle(0.0, 0.0, 20.0 - 3.0 * f64::from(i)))
        .collect();
    curves.push(circle(50.0, 0.0, 20.0));
    curves.push(circle(50.0, 0.0, 5.0));
    // In the third ring of the first, beside its middle.
    curves.push(circle(12.5, 0.0, 0.4));
    let expected = [
        (0, None),
        (1, Some(1)),
        (2, Some(2)),
        (3, Some(3)),
        (4, Some(4)),
        (5, Some(5)),
        (0, None),
        (1, Some(7)),
        (3, Some(3)),
    ];
    assert_eq!(nested(curves), expected);
}

/// A contour that touches the one round it lies in it; one that lies mostly outside does not.
#[test]
fn most_of_a_contour_tells_where_it_lies() {
    let with = |x0: f64, x1: f64| {
        let mut curves = sides(0.0, 0.0, 20.0, 20.0);
        let [a, b, h] = [x0, x1, 5.0];
        curves.push((
            "0",
            Polyline::closed([(a, h, 0.0), (b, h, 0.0), (b, 2.0 * h, 0.0), (a, 2.0 * h, 0.0)]),
        ));
        nested(curves)[1]
    };
    assert_eq!(with(10.0, 20.0), (1, Some(1)));
    assert_eq!(with(20.0, 30.0), (0, None));
    assert_eq!(with(12.0, 26.0), (1, Some(1)));
    assert_eq!(with(18.0, 36.0), (0, None));
    // Contours are numbered by where they lie, so that the smaller one may come first.
    let smaller = |other: Polyline| {
        let mut curves = sides(0.0, 0.0, 20.0, 20.0);
        curves.push(("0", other));
        let contours = made(curves).list;
        let smaller = contours.iter().min_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
        smaller.map(|contour| (contour.depth, contour.parent.is_some()))
    };
    let box_of = |x0: f64, y0: f64, x1: f64, y1: f64| {
        smaller(Polyline::closed([
            (x0, y0, 0.0),
            (x1, y0, 0.0),
            (x1, y1, 0.0),
            (x0, y1, 0.0),
        ]))
    };
    // Its lower side alone lies outside; two sides of four do; two of five.
    assert_eq!(box_of(5.0, -1.0, 10.0, 5.0), Some((1, true)));
    assert_eq!(box_of(12.0, -5.0, 26.0, 8.0), Some((0, false)));
    let pentagon =
        (0..5).map(|i| Point::new(19.7, 10.0) + Vector::unit(PI / 18.0 + 0.4 * PI * f64::from(i)) * 5.0);
    let pentagon = Polyline::closed(pentagon.map(|p| (p.x, p.y, 0.0)));
    assert_eq!(smaller(pentagon), Some((1, true)));
}

/// Of loops of one size the one with the lower number is round the other; no loop is round itself.
#[test]
fn of_equal_loops_the_first_is_round_the_others() {
    let mut curves = vec![
        circle(0.0, 0.0, 8.0),
        circle(0.0, 0.0, 8.0),
        circle(0.0, 0.0, 3.0),
    ];
    curves.push(circle(30.0, 0.0, 8.0));
    let contours = made(curves).list;
    let views: Vec<NestView<'_>> = contours.iter().map(NestView::of).collect();
    assert_eq!(first_of_coincident(&views), [0, 0, 2, 3]);
    // As large to a micrometre all round, or not.
    let of_area = |area_mm2: f64| NestView { area_mm2, ..views[0] };
    let slack = 1e-3 * views[0].polyline.length();
    for (more, same) in [(0.9 * slack, 0), (1.1 * slack, 1)] {
        let both = [views[0], of_area(views[0].area_mm2 + more)];
        assert_eq!(first_of_coincident(&both), [0, same]);
    }
    let mut enclosing = Enclosing::new(views.clone());
    assert_eq!(enclosing.of(views[2]), [0, 1]);
    assert_eq!(enclosing.of(views[0]), Vec::<usize>::new());
    assert_eq!(enclosing.of(views[3]), Vec::<usize>::new());
}

/// Three of four sides of one rectangle lie in another and none of that in it: it is in that where that is larger, or of one size and numbered
/// before it.
#[test]
fn of_two_that_cross_the_smaller_may_lie_in_the_larger() {
    let contours = made(
        [(0.0, 0.0, 20.0, 10.0), (-0.5, -0.5, 20.5, 9.02)].map(|(x0, y0, x1, y1)| {
            (
                "0",
                Polyline::closed([(x0, y0, 0.0), (x1, y0, 0.0), (x1, y1, 0.0), (x0, y1, 0.0)]),
            )
        }),
    )
    .list;
    let mut views: Vec<NestView<'_>> = contours.iter().map(NestView::of).collect();
    views.sort_by(|a, b| b.bounds.min.x.total_cmp(&a.bounds.min.x));
    for (number, other_number, area_mm2, within) in [
        (1, 2, 200.0, false),
        (2, 1, 200.0, true),
        (1, 2, 201.0, true),
        (2, 1, 199.0, false),
    ] {
        views[0].id = Some(ContourId::nth(number));
        views[0].area_mm2 = 200.0;
        views[1].id = Some(ContourId::nth(other_number));
        views[1].area_mm2 = area_mm2;
        let mut enclosing = Enclosing::new(views.clone());
        let expected = if within { vec![1] } else { vec![] };
        assert_eq!(enclosing.of(views[0]), expected, "{area_mm2} mm²");
    }
}

/// Edges on one line are one edge: what lies in them lies in one.
#[test]
fn an_edge_drawn_twice_encloses_once() {
    let shifted = |by: f64| {
        let square = |x: f64| {
            Polyline::closed([
                (x, 0.0, 0.0),
                (x + 20.0, 0.0, 0.0),
                (x + 20.0, 20.0, 0.0),
                (x, 20.0, 0.0),
            ])
        };
        nested(vec![
            ("0", square(0.0)),
            ("0", square(by)),
            circle(10.0, 10.0, 2.0),
        ])[2]
    };
    assert_eq!(shifted(1.9e-3), (1, Some(1)));
    assert_eq!(shifted(2.1e-3).0, 2);
    // One line, or two that share a corner, an extent or an area?
    let beside = |other: &[(f64, f64)]| {
        let other = Polyline::closed(other.iter().map(|&(x, y)| (x, y, 0.0)));
        let square = Polyline::closed([
            (0.0, 0.0, 0.0),
            (20.0, 0.0, 0.0),
            (20.0, 20.0, 0.0),
            (0.0, 20.0, 0.0),
        ]);
        nested(vec![("0", square), ("0", other), circle(5.0, 10.0, 2.0)])[2].0
    };
    let d = 1.9e-3;
    assert_eq!(
        beside(&[(d, d), (20.0 + d, d), (20.0 + d, 20.0 + d), (d, 20.0 + d)]),
        2
    );
    assert_eq!(beside(&[(0.0, 0.0), (10.0, 0.0), (10.0, 40.0), (0.0, 40.0)]), 2);
    assert_eq!(
        beside(&[(0.0, 0.0), (18.0, 0.0), (20.0, 2.0), (20.0, 20.0), (0.0, 20.0)]),
        2
    );
    assert_eq!(
        beside(&[(0.0, 0.0), (20.0005, 0.0), (20.0005, 20.0005), (0.0, 20.0005)]),
        1
    );
}

#[test]
fn an_open_line_lies_in_what_is_round_it() {
    let mut curves = sides(0.0, 0.0, 20.0, 20.0);
    curves.push(circle(5.0, 5.0, 3.0));
    curves.push(("0", line(4.0, 5.0, 6.0, 5.0)));
    curves.push(("0", line(12.0, 5.0, 16.0, 5.0)));
    assert_eq!(
        nested(curves),
        [(0, None), (1, Some(1)), (2, Some(2)), (1, Some(1))]
    );
}

/// A line whose ends are a tenth of its length apart was meant to close.
#[test]
fn a_line_that_nearly_closes_is_a_loop() {
    // Three sides of 10, and so much of the fourth that a gap is left.
    let with_gap = |gap: f64| {
        Polyline::open([
            (0.0, 0.0, 0.0),
            (10.0, 0.0, 0.0),
            (10.0, 10.0, 0.0),
            (0.0, 10.0, 0.0),
            (0.0, gap, 0.0),
        ])
    };
    // Of 40 - gap: 3.6363 mm.
    let closed = ClosedLine::of(with_gap(3.6), 7).expect("meant as a loop");
    assert!((closed.area_mm2 - 100.0).abs() < 1e-9 && closed.curve == 7);
    assert!(closed.polyline.closed);
    assert!(ClosedLine::of(with_gap(3.7), 7).is_none());
    assert!(ClosedLine::of(line(0.0, 0.0, 10.0, 0.0), 7).is_none());
    // Two legs of 10 with a gap of 1; a tenth to the last digit.
    assert!(
        ClosedLine::of(
            Polyline::open([(0.0, 0.0, 0.0), (10.0, 0.5, 0.0), (0.0, 1.0, 0.0)]),
            7
        )
        .is_some()
    );
    let tenth = Polyline::open([(0.0, 0.0, 0.0), (4.5, 0.0, 0.0), (4.5, 1.0, 0.0), (0.0, 1.0, 0.0)]);
    assert!(ClosedLine::of(tenth, 7).is_some());
    assert!(
        ClosedLine::of(Polyline::circle(Point::default(), 2.0).reversed(), 7)
            .is_some_and(|line| line.area_mm2 > 12.5)
    );
}
