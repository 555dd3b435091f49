//! The search against trying everything.

use std::f64::consts::TAU;

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::super::tests::drawing;
use super::regions::Neighbors;
use super::walk::WidthWalk;
use super::walls::Walls;
use crate::contour::build;
use crate::geometry::{NearestStack, Point, Polyline, Segment, Vector};
use crate::job::{Purposes, Reading};
use crate::tolerance::NEAR_BALL;

/// Points taken on each side of the polygon when everything is tried.
const DENSE: usize = 60;

/// Smallest ball, of those at many points of the polygon that touch it twice within 29.5° of straight across and hold
/// no other wall; tries every pair of a point and a wall. `side` is +1 for the left of the line.
fn by_trying_all(polygon: &Polyline, side: f64) -> f64 {
    let walls: Vec<Segment> = polygon.segments().collect();
    let mut smallest = f64::INFINITY;
    for (i, s) in walls.iter().enumerate() {
        let normal = s.direction(0.5).left() * side;
        for k in 0..DENSE {
            let p = s.at((k as f64 + 0.5) / DENSE as f64);
            let balls = walls.iter().enumerate().filter(|&(j, _)| j != i);
            let balls = balls.filter_map(|(_, wall)| least_ball(p, normal, *wall));
            let Some((radius, q)) = balls.min_by(|a, b| a.0.total_cmp(&b.0)) else {
                continue;
            };
            let center = p + normal * radius;
            let across = (p - center).dot(q - center) / (radius * radius);
            let next_to = |j: usize| (i + 1) % walls.len() == j || (j + 1) % walls.len() == i;
            let neighbours = (0..walls.len()).any(|j| next_to(j) && walls[j].distance(q) < 1e-9);
            if across < -29.5f64.to_radians().cos() && !neighbours {
                smallest = smallest.min(2.0 * radius);
            }
        }
    }
    smallest
}

/// The least of the balls that touch `p` along `normal` and pass through a point of a straight wall, by golden section:
/// their radius falls and then rises along the part of the wall that lies ahead.
fn least_ball(p: Point, normal: Vector, wall: Segment) -> Option<(f64, Point)> {
    let ahead = |t: f64| (wall.from.lerp(wall.to, t) - p).dot(normal);
    let (first, last) = (ahead(0.0), ahead(1.0));
    let crossing = first / (first - last);
    let (mut low, mut high) = match (first > 0.0, last > 0.0) {
        (true, true) => (0.0, 1.0),
        (true, false) => (0.0, crossing),
        (false, true) => (crossing, 1.0),
        (false, false) => return None,
    };
    let through = |t: f64| {
        let v = wall.from.lerp(wall.to, t) - p;
        v.dot(v) / (2.0 * v.dot(normal).max(f64::MIN_POSITIVE))
    };
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    for _ in 0..60 {
        let (a, b) = (high - golden * (high - low), low + golden * (high - low));
        if through(a) < through(b) {
            high = b;
        } else {
            low = a;
        }
    }
    let t = 0.5 * (low + high);
    Some((through(t), wall.from.lerp(wall.to, t)))
}

/// Holds the widths found of a star against those found by trying all.
fn check(corners: &[(f64, f64)]) {
    let count = corners.len() as f64;
    let star = Polyline::closed(corners.iter().enumerate().map(|(i, &(turn, radius))| {
        let p = Point::default() + Vector::unit(TAU * (i as f64 + turn) / count) * radius;
        (p.x, p.y, 0.0)
    }));
    let contours = build(&drawing([("0", star)]), &Reading::default(), &Purposes::default());
    let contour = &contours.list[0];
    for (found, side) in [(&contour.narrowest_slot, -1.0), (&contour.thinnest_wall, 1.0)] {
        let found = found.as_ref().map_or(f64::INFINITY, |width| width.width_mm);
        let tried = by_trying_all(&contour.polyline, side);
        assert!(
            found <= (1.0 + 2.0 * NEAR_BALL) * tried,
            "found {found}, tried {tried} on side {side}"
        );
    }
}

proptest! {
    // The same polygons in each run; others are tried by another seed.
    #![proptest_config(ProptestConfig { rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]
    #[test]
    fn no_narrower_place_is_found_by_trying_all(
        corners in proptest::collection::vec((0.1..0.9f64, 1.0..20.0f64), 5..14),
    ) {
        check(&corners);
    }
}

/// Two walls in nearly one line, the first of which makes a corner with the opposite wall: the second faces it from its
/// very start. Found by chance, 16 % too wide.
#[test]
fn what_makes_a_corner_with_one_wall_may_face_the_next() {
    let corners = [
        (0.465_891_260_149_327_1, 4.241_294_116_577_067),
        (0.163_353_016_514_890_15, 3.830_502_693_362_279_7),
        (0.1, 6.707_135_917_851_478),
        (0.1, 11.651_067_389_096_006),
        (0.1, 5.241_155_046_293_304),
        (0.1, 19.949_597_180_403_02),
        (0.1, 1.0),
        (0.1, 1.619_483_667_925_107),
        (0.738_456_935_820_075_5, 17.920_707_818_237_22),
        (0.244_174_323_069_780_85, 7.874_051_073_817_839_5),
    ];
    check(&corners);
}

/// Spikes 5 mm high and 2 mm apart round a circle: a ball that fills it touches them all.
fn star(segments: usize) -> Polyline {
    let outer = 5.0 + segments as f64 / std::f64::consts::TAU;
    Polyline::closed((0..segments).map(|i| {
        let at =
            Vector::unit(TAU * i as f64 / segments as f64) * (outer - if i % 2 == 0 { 0.0 } else { 5.0 });
        (at.x, at.y, 0.0)
    }))
}

#[test]
fn a_ring_of_teeth_is_looked_across_no_more_often_than_is_allowed() {
    let contours = build(
        &drawing([("0", star(1000))]),
        &Reading::default(),
        &Purposes::default(),
    );
    let walls = Walls::new(&contours.list);
    let tried = |affordable: usize| {
        let mut stack = NearestStack::default();
        let neighbors = Neighbors::default();
        let mut walk = WidthWalk::new(&walls, &contours.list[0], true, neighbors, affordable, &mut stack);
        walk.go_round();
        let tried = walk.tried;
        (tried, walk.found().0.map(|width| width.width_mm))
    };
    let ((all, width), (some, found)) = (tried(usize::MAX), tried(50_000));
    assert!(all > 120 * 1000, "{all}");
    // One more ball, and those for places up to 10 mm.
    assert!(some < 50_000 + 1000 + 30 * 1000, "{some} of {all}");
    // From a valley to the one across.
    let across = 1000.0 / std::f64::consts::PI;
    for width in [width, found] {
        assert!(
            width.is_some_and(|mm| (mm - across).abs() < 0.01 * across),
            "{width:?}, not {across}"
        );
    }
}
