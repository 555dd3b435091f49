//! Contours of crumbs: smooth curves as chords of a few micrometres with rounded coordinates, as exploded splines and scans leave them.
//!
//! Their paths are held against two polygon libraries that propose none: crate `clipper2-rust` 1.2 on a grid of 0.1 nm, and shapely on GEOS
//! (`tests/reference/crumbs.py`).

use std::f64::consts::TAU;
use std::process::Command;

use clipper2_rust::{EndType, JoinType, PathD, PointD, area, inflate_paths_d};
use kerfwright::geometry::{Point, Polyline, Vector};
use kerfwright::toolpath::{RefusalReason, offset};
use proptest::prelude::*;

use crate::common::root;
use crate::random::{config_of, offsets};

/// Rise of the chords of the round joins of the other library.
const CHORD_RISE_MM: f64 = 3e-5;

/// r = R + A·sin(kφ) in `n` chords, coordinates rounded to so many decimals.
fn wave([radius, height, waves]: [f64; 3], n: usize, decimals: i32) -> Polyline {
    let steps = 10f64.powi(decimals);
    let rounded = |v: f64| (v * steps).round() / steps;
    Polyline::closed((0..n).map(|i| {
        let turn = TAU * i as f64 / n as f64;
        let p = Vector::unit(turn) * (radius + height * (waves * turn).sin());
        (rounded(p.x), rounded(p.y), 0.0)
    }))
}

/// The path, its nodes counted and its area held against the other library's.
fn agrees(name: &str, shape: &Polyline, offset_mm: f64) {
    let found =
        offset(shape, offset_mm).unwrap_or_else(|refused| panic!("{name} at {offset_mm}: {refused:?}"));
    let nodes: usize = found.loops.iter().map(Polyline::segment_count).sum();
    assert!(
        nodes <= 2 * shape.segment_count(),
        "{name} at {offset_mm}: {nodes} nodes"
    );
    assert!(found.verified_mm <= 1e-4, "{name} at {offset_mm}");
    let ring: PathD = shape
        .vertices
        .iter()
        .map(|v| PointD::new(v.at.x, v.at.y))
        .collect();
    let theirs = inflate_paths_d(
        &vec![ring],
        offset_mm,
        JoinType::Round,
        EndType::Polygon,
        2.0,
        7,
        CHORD_RISE_MM,
    );
    let theirs: f64 = theirs.iter().map(area).sum();
    let ours = found.loops.iter().map(Polyline::area).sum::<f64>() * offset_mm.signum();
    let length: f64 = found.loops.iter().map(Polyline::length).sum();
    // Both paths lie within 0.1 µm of the true one.
    assert!(
        (ours - theirs).abs() <= length * (1e-4 + CHORD_RISE_MM),
        "{name} at {offset_mm}: {ours} against {theirs}"
    );
}

#[test]
fn crumbs_have_paths() {
    for decimals in [3, 4, 6, 9] {
        let shape = wave([0.5, 0.03, 5.0], 2000, decimals);
        for offset_mm in [0.05, -0.197] {
            agrees("a wave", &shape, offset_mm);
        }
    }
}

#[test]
fn a_few_crumbs_agree_with_shapely() {
    agree_with_shapely(&[]);
}

#[test]
#[ignore = "many minutes; `bash tests/long crumbs`"]
fn all_crumbs_agree_with_shapely() {
    agree_with_shapely(&["--whole"]);
}

/// Asks the Python that `tests/run` sets up; without it the test says SKIPPED.
fn agree_with_shapely(arguments: &[&str]) {
    let python = root().join(".venv/bin/python");
    if !python.exists() {
        println!("SKIPPED: no {}, which tests/run sets up", python.display());
        return;
    }
    let output = Command::new(python)
        .arg(root().join("tests/reference/crumbs.py"))
        .arg(env!("CARGO_BIN_EXE_kerfwright"))
        .args(arguments)
        .output()
        .expect("it is there");
    println!("{}", String::from_utf8_lossy(&output.stdout));
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

#[test]
#[ignore = "minutes; `bash tests/long crumbs`"]
fn crumbs_of_every_length_have_paths() {
    for n in [1000, 5000, 20_000, 100_000, 200_000] {
        for decimals in [3, 4, 6, 9] {
            for shape in [[10.0, 1.0, 12.0], [5.0, 0.3, 20.0], [50.0, 5.0, 37.0]] {
                let drawn = wave(shape, n, decimals);
                for offset_mm in [0.05, 0.13, 0.197, 0.35].into_iter().flat_map(|mm| [mm, -mm]) {
                    agrees(
                        &format!("{shape:?} in {n}, {decimals} decimals"),
                        &drawn,
                        offset_mm,
                    );
                }
            }
        }
    }
}

/// A contour on a whole-number grid, points given twice dropped: what is decided on it is exact.
struct OnGrid(Vec<(i128, i128)>);

impl OnGrid {
    fn of(shape: &Polyline, decimals: i32) -> Self {
        let whole = |v: f64| (v * 10f64.powi(decimals)).round() as i128;
        let mut points: Vec<_> = shape
            .vertices
            .iter()
            .map(|v| (whole(v.at.x), whole(v.at.y)))
            .collect();
        points.dedup();
        while points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        Self(points)
    }

    /// The ends of two segments that meet elsewhere than at the joint between them.
    fn meeting(&self) -> Option<[(i128, i128); 4]> {
        let Self(points) = self;
        let n = points.len();
        let side = |a: (i128, i128), b: (i128, i128), c: (i128, i128)| {
            ((b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)).signum()
        };
        let within = |a: (i128, i128), b: (i128, i128), c: (i128, i128)| {
            let between = |a: i128, b: i128, c: i128| a.min(b) <= c && c <= a.max(b);
            side(a, b, c) == 0 && between(a.0, b.0, c.0) && between(a.1, b.1, c.1)
        };
        let meet = |i: usize, j: usize| {
            let (a, b, c, d) = (points[i], points[(i + 1) % n], points[j], points[(j + 1) % n]);
            if b == c {
                within(a, b, d) || within(c, d, a)
            } else if d == a {
                within(c, d, b) || within(a, b, c)
            } else {
                (side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0)
                    || within(a, b, c)
                    || within(a, b, d)
                    || within(c, d, a)
                    || within(c, d, b)
            }
        };
        let reach = |i: usize| {
            let (a, b) = (points[i].0, points[(i + 1) % n].0);
            (a.min(b), a.max(b))
        };
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by_key(|&i| reach(i));
        order.iter().enumerate().find_map(|(k, &i)| {
            let after = order[k + 1..].iter().take_while(|&&j| reach(j).0 <= reach(i).1);
            let j = *after.into_iter().find(|&&j| meet(i, j))?;
            Some([points[i], points[(i + 1) % n], points[j], points[(j + 1) % n]])
        })
    }
}

/// A smooth contour of a few harmonics in crumbs.
fn rough_loops() -> impl Strategy<Value = (Polyline, i32)> {
    let harmonic = (2u32..15, 0.0f64..0.08, 0.0..TAU);
    (
        prop::collection::vec(harmonic, 1..5),
        0.3f64..1.5,
        200usize..1500,
        prop::sample::select(vec![3, 4, 6]),
    )
        .prop_map(|(harmonics, radius, n, decimals)| {
            let steps = 10f64.powi(decimals);
            let rounded = move |v: f64| (v * steps).round() / steps;
            let shape = Polyline::closed((0..n).map(|i| {
                let turn = TAU * i as f64 / n as f64;
                let waves = harmonics.iter();
                let height: f64 = waves
                    .map(|&(k, height, phase)| height * (f64::from(k) * turn + phase).sin())
                    .sum();
                let p = Vector::unit(turn) * (radius * (1.0 + height));
                (rounded(p.x), rounded(p.y), 0.0)
            }));
            (shape, decimals)
        })
}

proptest! {
    #![proptest_config(config_of(8))]

    /// One that is refused meets itself, and there.
    #[test]
    fn random_crumbs_have_paths((shape, decimals) in rough_loops(), offset_mm in offsets()) {
        match (offset(&shape, offset_mm), OnGrid::of(&shape, decimals).meeting()) {
            (Ok(found), _) => prop_assert!(found.verified_mm <= 1e-4),
            (Err(refused), Some(_)) => prop_assert_eq!(refused.reason, RefusalReason::CrossesItself),
            (Err(refused), None) => prop_assert!(false, "{:?}", refused),
        }
    }
}

#[test]
fn a_crossing_of_micrometres_is_where_the_refusal_is() {
    // A square of crumbs with a loop of 6 by 6 µm in its lower side, too small for the first look.
    let mut points: Vec<(f64, f64)> = (0..1000).map(|i| (f64::from(i) * 0.002, 0.0)).collect();
    points.splice(
        500..500,
        [(1.002, 0.001), (1.0, -0.005), (0.994, -0.003), (0.9995, 0.0)],
    );
    points.extend([(2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]);
    let shape = Polyline::closed(points.iter().map(|&(x, y)| (x, y, 0.0)));
    for offset_mm in [0.13, -0.13] {
        let refused = offset(&shape, offset_mm).expect_err("it crosses itself");
        assert_eq!(refused.reason, RefusalReason::CrossesItself);
        assert!(refused.at.distance(Point::new(1.0, 0.0)) < 0.01, "{refused:?}");
    }
}
