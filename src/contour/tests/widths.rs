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
