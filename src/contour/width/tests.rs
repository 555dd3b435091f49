//! The search against trying everything.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use proptest::prelude::*;

use super::super::tests::drawing;
use crate::contour::build;
use crate::geometry::{Point, Polyline, Vector};
use crate::job::{Reading, Uses};

/// Points taken on each side of the polygon when everything is tried.
const DENSE: usize = 60;

/// Smallest ball, of those at many points of the polygon that touch it twice within 25° of straight across and hold
/// no other of these points; tries every pair. Only walls that face each other along a quarter of one of them count.
/// `side` is +1 for the left of the line.
fn by_trying_all(polygon: &Polyline, side: f64) -> f64 {
    let count = polygon.segment_count();
    let points: Vec<(usize, Point, Vector)> = polygon
        .segments()
        .enumerate()
        .flat_map(|(i, s)| {
            (0..DENSE).map(move |k| {
                let t = (k as f64 + 0.5) / DENSE as f64;
                (i, s.at(t), s.direction(t).left() * side)
            })
        })
        .collect();
    let mut facing: BTreeMap<(usize, usize), (usize, f64)> = BTreeMap::new();
    for &(i, p, normal) in &points {
        let mut ball: Option<(f64, usize, Point)> = None;
        for &(j, q, _) in points.iter().filter(|other| other.0 != i) {
            let ahead = 2.0 * (q - p).dot(normal);
            if ahead > 0.0 {
                let radius = (q - p).dot(q - p) / ahead;
                if ball.is_none_or(|(smaller, ..)| radius < smaller) {
                    ball = Some((radius, j, q));
                }
            }
        }
        let Some((radius, j, q)) = ball else { continue };
        let center = p + normal * radius;
        let across = (p - center).dot(q - center) / (radius * radius);
        let neighbours = (i + 1) % count == j || (j + 1) % count == i;
        if across < -25f64.to_radians().cos() && !neighbours {
            let (count, smallest) = facing.entry((i, j)).or_insert((0, f64::INFINITY));
            *count += 1;
            *smallest = smallest.min(2.0 * radius);
        }
    }
    let along = facing.values().filter(|(count, _)| 4 * count >= DENSE);
    along.map(|&(_, width)| width).fold(f64::INFINITY, f64::min)
}

proptest! {
    #[test]
    fn no_narrower_place_is_found_by_trying_all(
        corners in proptest::collection::vec((0.1..0.9f64, 1.0..20.0f64), 5..14),
    ) {
        let count = corners.len() as f64;
        let star = Polyline::closed(corners.iter().enumerate().map(|(i, &(turn, radius))| {
            let p = Point::default() + Vector::unit(TAU * (i as f64 + turn) / count) * radius;
            (p.x, p.y, 0.0)
        }));
        let contours = build(&drawing([("0", star)]), &Reading::default(), &Uses::default());
        let contour = &contours.list[0];
        for (found, side) in [(&contour.narrowest_slot, -1.0), (&contour.thinnest_wall, 1.0)] {
            let found = found.as_ref().map_or(f64::INFINITY, |width| width.width_mm);
            let tried = by_trying_all(&contour.polyline, side);
            // Between the places looked at, a tapering wall may be a little narrower: in 100 000 tries by a tenth.
            prop_assert!(found <= 1.2 * tried, "found {}, tried {}", found, tried);
        }
    }
}
