//! Random contours of lines and arcs, and offsets.

use std::f64::consts::TAU;

use kerfwright::geometry::{Point, Polyline, Vector};
use proptest::prelude::*;

/// A star-shaped loop: a corner in each of `n` directions, edges bent by random bulges; kept when it does not
/// cross itself. Some radii repeat and some bulges are zero, so that flat and tangent joints come up.
pub(crate) fn loops() -> impl Strategy<Value = Polyline> {
    let corner = (
        0.1f64..0.9,
        prop_oneof![0.4f64..8.0, Just(5.0), Just(1.0)],
        prop_oneof![Just(0.0), -0.9f64..0.9],
    );
    (prop::collection::vec(corner, 3..14), -50.0f64..50.0)
        .prop_map(|(corners, shift)| {
            let n = corners.len() as f64;
            Polyline::closed(corners.iter().enumerate().map(|(i, &(turn, radius, bulge))| {
                let p = Vector::unit(TAU * (i as f64 + turn) / n) * radius;
                (p.x + shift, p.y - shift, bulge)
            }))
        })
        .prop_filter("crosses itself", |outline| {
            outline.area() > 0.05 && !crosses_itself(outline)
        })
}

fn crosses_itself(outline: &Polyline) -> bool {
    let n = outline.segment_count();
    (0..n).any(|i| {
        (i + 1..n).any(|j| {
            let (a, b) = (outline.segment(i), outline.segment(j));
            let shared = |p: Point| {
                (j == i + 1 && p.distance(a.to) < 1e-9) || ((j + 1) % n == i && p.distance(a.from) < 1e-9)
            };
            let near_neighbour = j == i + 1 || (j + 1) % n == i;
            if near_neighbour {
                a.crossings(b).into_iter().flatten().any(|p| !shared(p))
            } else {
                a.clearance(b) < 1e-6
            }
        })
    })
}

/// Offsets as they occur, both sides, also larger than many of the features.
pub(crate) fn offsets() -> impl Strategy<Value = f64> {
    prop_oneof![
        prop::sample::select(vec![0.05, 0.13, 0.137, 0.152, 0.197, 0.35]),
        0.02f64..1.0,
    ]
    .prop_flat_map(|d| prop::sample::select(vec![d, -d]))
}

/// How many cases are tried: `usual`, unless `PROPTEST_CASES` says otherwise, as `tests/long` does.
pub(crate) fn cases(usual: u32) -> u32 {
    let asked = std::env::var("PROPTEST_CASES");
    asked.map_or(usual, |asked| asked.parse().expect("PROPTEST_CASES is a number"))
}

pub(crate) fn config() -> ProptestConfig {
    config_of(500)
}

/// The same for what takes longer.
pub(crate) fn config_of(usual: u32) -> ProptestConfig {
    let cases = cases(usual);
    ProptestConfig {
        cases,
        failure_persistence: None,
        max_local_rejects: cases * 64,
        max_global_rejects: cases * 64,
        ..ProptestConfig::default()
    }
}
