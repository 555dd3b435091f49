//! What the second proposer makes, before anything else was tried: verified, and as large as another polygon library finds it (crate
//! `clipper2-rust` 1.2 on a grid of 0.1 nm).

use std::f64::consts::TAU;

use clipper2_rust::{EndType, JoinType, PathD, PointD, area, inflate_paths_d};

use super::polygon::propose;
use super::verify::Verifier;
use crate::geometry::{Polyline, SegmentIndex, Vector};
use crate::tolerance::{CHORD_RISE_MM, PATH_MM};

/// r = 0.5 + 0.03·sin(5φ) in chords of 2 µm, coordinates in whole steps.
fn wave(steps: f64) -> Polyline {
    let rounded = |v: f64| (v * steps).round() / steps;
    Polyline::closed((0..1500).map(|i| {
        let turn = TAU * f64::from(i) / 1500.0;
        let at = Vector::unit(turn) * (0.5 + 0.03 * (5.0 * turn).sin());
        (rounded(at.x), rounded(at.y), 0.0)
    }))
}

#[test]
fn its_paths_hold_before_the_verifier_and_beside_another_library() {
    for steps in [1e4, 1e6] {
        let shape = wave(steps);
        let index = SegmentIndex::of([&shape]);
        let ring: PathD = shape
            .vertices
            .iter()
            .map(|v| PointD::new(v.at.x, v.at.y))
            .collect();
        for offset_mm in [0.35, -0.05, -0.35] {
            let loops = propose(&shape, &index, offset_mm).expect("a path");
            let verdict = Verifier::new(&index, offset_mm).verify(&loops);
            assert!(
                verdict.is_ok_and(|worst| worst <= PATH_MM),
                "{steps}, {offset_mm}: {verdict:?}"
            );
            let (round, polygon) = (JoinType::Round, EndType::Polygon);
            let theirs = inflate_paths_d(
                &vec![ring.clone()],
                offset_mm,
                round,
                polygon,
                2.0,
                7,
                CHORD_RISE_MM,
            );
            let theirs: f64 = theirs.iter().map(area).sum();
            let ours = loops.iter().map(Polyline::area).sum::<f64>() * offset_mm.signum();
            let length: f64 = loops.iter().map(Polyline::length).sum();
            // Both lie within 0.1 µm of the true path.
            assert!(
                (ours - theirs).abs() <= length * (PATH_MM + CHORD_RISE_MM),
                "{steps}, {offset_mm}: {ours} and {theirs}"
            );
        }
    }
}

#[test]
fn a_contour_too_wide_for_its_grid_is_left_to_others() {
    let loops = |side: f64, offset_mm: f64| {
        let square = Polyline::closed([
            (0.0, 0.0, 0.0),
            (side, 0.0, 0.0),
            (side, side, 0.0),
            (0.0, side, 0.0),
        ]);
        propose(&square, &SegmentIndex::of([&square]), offset_mm).map(|loops| loops.len())
    };
    assert_eq!(loops(9_000.0, 0.2), Some(1));
    assert_eq!(loops(12_000.0, 0.2), None);
    assert_eq!(loops(0.3, -0.2), Some(0), "no room for the wire");
}
