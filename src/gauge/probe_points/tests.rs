use std::f64::consts::{FRAC_PI_2, TAU};

use super::*;

const SQUARE: [(f64, f64, f64); 4] = [
    (0.0, 0.0, 0.0),
    (20.0, 0.0, 0.0),
    (20.0, 10.0, 0.0),
    (0.0, 10.0, 0.0),
];

/// Straights of 20 and 10 mm with points at most 4 mm apart: 5 and 3 of them, in the middles of as many equal shares, none on a corner.
#[test]
fn points_lie_in_the_middles_of_equal_shares() {
    let found = places(&Polyline::closed(SQUARE), 4.0);
    assert_eq!(found.len(), 5 + 3 + 5 + 3);
    let right = [2.0, 6.0, 10.0, 14.0, 18.0].map(|x| Point::new(x, 0.0));
    for ((at, along), right) in found.iter().zip(right) {
        assert!(at.distance(right) < 1e-12 && (*along - Vector::new(1.0, 0.0)).length() < 1e-12);
    }
    assert!(found[5].0.distance(Point::new(20.0, 10.0 / 6.0)) < 1e-12);
}

/// A circle of radius 5 has 2π·5 = 31.4 mm: 8 points at most 4 mm apart, 4 where they may be farther apart than that. All are 5 mm from
/// the middle and equally far apart: the chord of 2π/n.
#[test]
fn points_of_a_circle_are_equally_far_apart() {
    for (spacing_mm, count) in [(4.0, 8), (100.0, 4)] {
        let found = places(&Polyline::circle(Point::new(1.0, 2.0), 5.0), spacing_mm);
        assert_eq!(found.len(), count);
        let chord = 2.0 * 5.0 * (TAU / count as f64 / 2.0).sin();
        for (i, (at, along)) in found.iter().enumerate() {
            assert!((at.distance(Point::new(1.0, 2.0)) - 5.0).abs() < 1e-12);
            assert!((*at - Point::new(1.0, 2.0)).dot(*along).abs() < 1e-9);
            assert!((at.distance(found[(i + 1) % count].0) - chord).abs() < 1e-9);
        }
    }
}

/// Of a chain of short chords only as many have a point as lie half the spacing apart.
#[test]
fn short_stretches_have_no_points_of_their_own() {
    let corners = (0..200).map(|i| {
        let angle = TAU * f64::from(i) / 200.0;
        (10.0 * angle.cos(), 10.0 * angle.sin(), 0.0)
    });
    let found = places(&Polyline::closed(corners), 4.0);
    // Every seventh: seven chords are 2.2 mm, six are 1.9.
    assert_eq!(found.len(), 200_usize.div_ceil(7));
}

/// Rounded corners go on smoothly: the whole loop is one stretch.
#[test]
fn what_goes_on_smoothly_is_one_stretch() {
    let bulge = (FRAC_PI_2 / 4.0).tan();
    let stadium = Polyline::closed([
        (2.0, 0.0, 0.0),
        (8.0, 0.0, bulge),
        (10.0, 2.0, 0.0),
        (10.0, 8.0, bulge),
        (8.0, 10.0, 0.0),
        (2.0, 10.0, bulge),
        (0.0, 8.0, 0.0),
        (0.0, 2.0, bulge),
    ]);
    let length = 4.0 * 6.0 + TAU * 2.0;
    assert_eq!(places(&stadium, 3.0).len(), (length / 3.0).ceil() as usize);
}
