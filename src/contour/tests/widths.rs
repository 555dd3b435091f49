//! Slots and walls with closed forms.

use super::super::*;
use super::{close, made};

/// Narrowest slot and thinnest wall of each contour.
fn widths(contours: &Contours) -> Vec<(f64, f64)> {
    let mm = |w: &Option<Box<Width>>| w.as_ref().map_or(f64::INFINITY, |w| w.width_mm);
    contours
        .list
        .iter()
        .map(|c| (mm(&c.narrowest_slot), mm(&c.thinnest_wall)))
        .collect()
}

#[test]
fn slots_and_walls_have_closed_forms() {
    let rectangle = |x0: f64, y0: f64, x1: f64, y1: f64| {
        Polyline::closed([(x0, y0, 0.0), (x1, y0, 0.0), (x1, y1, 0.0), (x0, y1, 0.0)])
    };
    let inf = f64::INFINITY;
    let check = |shapes: Vec<Polyline>, expected: &[(f64, f64)]| {
        let got = widths(&made(shapes.into_iter().map(|p| ("0", p))));
        assert_eq!(got.len(), expected.len());
        for (g, e) in got.iter().zip(expected) {
            let same = |a: f64, b: f64| a == b || (a - b).abs() < 1e-9;
            assert!(same(g.0, e.0) && same(g.1, e.1), "{got:?} is not {expected:?}");
        }
    };
    check(vec![rectangle(0.0, 0.0, 40.0, 20.0)], &[(inf, 20.0)]);
    check(vec![Polyline::circle(Point::new(3.0, 4.0), 5.0)], &[(inf, 10.0)]);
    // A plate with a slot 2 mm from its side and a hole 1.5 mm from the slot.
    check(
        vec![
            rectangle(0.0, 0.0, 40.0, 20.0),
            rectangle(2.0, 5.0, 2.3, 15.0),
            Polyline::circle(Point::new(6.8, 10.0), 3.0),
        ],
        &[(inf, 2.0), (0.3, 1.5), (6.0, 1.5)],
    );
    // Two holes whose walls are 0.7 mm apart along the line of their centres.
    check(
        vec![
            rectangle(-20.0, -20.0, 30.0, 30.0),
            Polyline::circle(Point::new(0.0, 0.0), 2.0),
            Polyline::circle(Point::new(3.0, 4.0), 2.3),
        ],
        &[(inf, 18.0), (4.0, 0.7), (4.6, 0.7)],
    );
    // A bay 0.4 mm wide between two horns, open above: slot 0.4; horns 1 mm wide.
    check(
        vec![Polyline::closed([
            (0.0, 0.0, 0.0),
            (2.4, 0.0, 0.0),
            (2.4, 10.0, 0.0),
            (1.4, 10.0, 0.0),
            (1.4, 5.0, 0.0),
            (1.0, 5.0, 0.0),
            (1.0, 10.0, 0.0),
            (0.0, 10.0, 0.0),
        ])],
        &[(0.4, 1.0)],
    );
    // A sharp corner is no slot, however sharp.
    check(
        vec![
            rectangle(-50.0, -50.0, 50.0, 50.0),
            Polyline::closed([(-20.0, -2.0, 0.0), (20.0, 0.0, 0.0), (-20.0, 2.0, 0.0)]),
        ],
        &[(inf, 30.0), (inf, 30.0)],
    );
    // A nose on the long wall of an opening comes within 0.25 mm of the other wall, off the middle.
    check(
        vec![
            Polyline::closed([
                (-1.0, -1.0, 0.0),
                (101.0, -1.0, 0.0),
                (101.0, 4.0, 0.0),
                (-1.0, 4.0, 0.0),
            ]),
            Polyline::closed([
                (0.0, 0.0, 0.0),
                (100.0, 0.0, 0.0),
                (100.0, 3.0, 0.0),
                (18.0, 3.0, 0.0),
                (17.3, 0.25, 0.0),
                (17.0, 3.0, 0.0),
                (0.0, 3.0, 0.0),
            ]),
        ],
        &[(inf, 1.0), (0.25, 1.0)],
    );
}

#[test]
fn every_narrow_place_is_listed_once() {
    // A comb of ten teeth: nine gaps of 0.3 mm, teeth 0.5 mm wide.
    let mut corners = vec![(0.0, -5.0, 0.0), (10.0 * 0.8 - 0.3, -5.0, 0.0)];
    for tooth in (0..10).rev() {
        let x = f64::from(tooth) * 0.8;
        corners.extend([
            (x + 0.5, 0.0, 0.0),
            (x + 0.5, 4.0, 0.0),
            (x, 4.0, 0.0),
            (x, 0.0, 0.0),
        ]);
    }
    let contours = made([("0", Polyline::closed(corners))]);
    assert_eq!(contours.facts.narrow_slots.len(), 9);
    assert_eq!(contours.facts.thin_walls.len(), 10);
    for width in &contours.facts.narrow_slots {
        close(width.width_mm, 0.3);
    }
}

/// The narrowest place of walls that keep their distance is the middle of them: of straight walls, of walls in pieces, of
/// bent ones.
#[test]
fn a_stretch_is_marked_in_its_middle() {
    let marked = |shapes: Vec<Polyline>, which: usize| {
        let contours = made(shapes.into_iter().map(|p| ("0", p)));
        let slot = contours.list[which].narrowest_slot.as_deref();
        let own = slot.expect("a slot").from.midpoint(slot.expect("a slot").to);
        let listed = contours.facts.narrow_slots.iter();
        let listed: Vec<Point> = listed.map(|width| width.from.midpoint(width.to)).collect();
        (own, listed)
    };
    let plate = || {
        Polyline::closed([
            (-9.0, -9.0, 0.0),
            (90.0, -9.0, 0.0),
            (90.0, 90.0, 0.0),
            (-9.0, 90.0, 0.0),
        ])
    };
    let at =
        |p: Point, x: f64, y: f64| assert!(p.distance(Point::new(x, y)) < 1e-9, "{p:?} is not ({x}, {y})");

    // A bay between two horns, 0.4 mm wide from y = 5 to y = 10.
    let bay = Polyline::closed([
        (0.0, 0.0, 0.0),
        (2.4, 0.0, 0.0),
        (2.4, 10.0, 0.0),
        (1.4, 10.0, 0.0),
        (1.4, 5.0, 0.0),
        (1.0, 5.0, 0.0),
        (1.0, 10.0, 0.0),
        (0.0, 10.0, 0.0),
    ]);
    let (own, listed) = marked(vec![bay], 0);
    at(own, 1.2, 7.5);
    assert_eq!(listed.len(), 1);
    at(listed[0], 1.2, 7.5);

    // A slot 0.5 × 40 mm, its walls in pieces of other lengths above than below.
    let slot = Polyline::closed([
        (0.0, 0.0, 0.0),
        (10.0, 0.0, 0.0),
        (13.0, 0.0, 0.0),
        (40.0, 0.0, 0.0),
        (40.0, 0.5, 0.0),
        (21.0, 0.5, 0.0),
        (6.0, 0.5, 0.0),
        (0.0, 0.5, 0.0),
    ]);
    let (own, listed) = marked(vec![plate(), slot], 1);
    at(own, 20.0, 0.25);
    assert_eq!(listed.len(), 1);
    at(listed[0], 20.0, 0.25);

    // A slot 0.6 mm wide bent round (0, 0) from 0° to 90°, its middle line on radius 20: its middle is at 45°.
    let quarter = (std::f64::consts::PI / 8.0).tan();
    let bent = Polyline::closed([
        (20.3, 0.0, quarter),
        (0.0, 20.3, 0.0),
        (0.0, 19.7, -quarter),
        (19.7, 0.0, 0.0),
    ]);
    let (own, _) = marked(vec![plate(), bent], 1);
    let half = 20.0 * 0.5f64.sqrt();
    at(own, half, half);

    // A slot 0.5 mm wide with round ends.
    let round = Polyline::closed([
        (0.0, 0.0, 0.0),
        (30.0, 0.0, 1.0),
        (30.0, 0.5, 0.0),
        (0.0, 0.5, 1.0),
    ]);
    let (own, _) = marked(vec![plate(), round], 1);
    at(own, 15.0, 0.25);

    // Walls that draw together: where they are nearest, at the end.
    let wedge = Polyline::closed([
        (0.0, 0.0, 0.0),
        (40.0, 0.0, 0.0),
        (40.0, 0.5, 0.0),
        (0.0, 0.6, 0.0),
    ]);
    let (own, _) = marked(vec![plate(), wedge], 1);
    assert!(own.x > 39.7, "{own:?}");
}

/// An opening with a tongue 3 mm wide, with and without a hole whose wall is nearer: the tongue is found either way. A part with a
/// slot, and one without.
#[test]
fn the_size_of_the_other_kind_lies_between_the_own_walls_of_a_contour() {
    let reverse = |shapes: Vec<Polyline>| {
        let contours = made(shapes.into_iter().map(|p| ("0", p)));
        let widths = contours
            .list
            .iter()
            .map(|c| c.reverse_width().map(|width| width.width_mm));
        widths.collect::<Vec<_>>()
    };
    let plate = Polyline::closed([
        (-20.0, -20.0, 0.0),
        (60.0, -20.0, 0.0),
        (60.0, 60.0, 0.0),
        (-20.0, 60.0, 0.0),
    ]);
    let bay = |x0: f64, x1: f64| {
        Polyline::closed([
            (0.0, 0.0, 0.0),
            (30.0, 0.0, 0.0),
            (30.0, 20.0, 0.0),
            (x1, 20.0, 0.0),
            (x1, 8.0, 0.0),
            (x0, 8.0, 0.0),
            (x0, 20.0, 0.0),
            (0.0, 20.0, 0.0),
        ])
    };
    let near = Polyline::circle(Point::new(33.0, 10.0), 1.0);
    let alone = reverse(vec![plate.clone(), bay(12.0, 15.0)]);
    let beside = reverse(vec![plate.clone(), bay(12.0, 15.0), near]);
    close(alone[1].expect("a tongue"), 3.0);
    close(beside[1].expect("a tongue"), 3.0);
    assert_eq!((alone[0], beside[2]), (None, None));
    close(reverse(vec![bay(12.0, 16.0)])[0].expect("a slot"), 4.0);
    assert_eq!(reverse(vec![plate]), [None]);
}
