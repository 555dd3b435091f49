//! What must not change when a drawing is turned about.

use std::f64::consts::PI;

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::super::*;
use super::{close, made, moved};
use crate::geometry::Vertex;

/// A plate with holes and a bay, as loose lines and arcs, no two loops touching.
fn plate() -> Vec<Polyline> {
    let mut curves: Vec<Polyline> = [
        (0.0, 0.0, 0.0, 30.0, 0.0),
        (30.0, 0.0, 0.4, 30.0, 20.0),
        (30.0, 20.0, 0.0, 20.0, 20.0),
        (20.0, 20.0, -1.0, 10.0, 20.0),
        (10.0, 20.0, 0.0, 0.0, 20.0),
        (0.0, 20.0, 0.0, 0.0, 0.0),
        // A slot with round ends.
        (5.0, 5.0, 0.0, 15.0, 5.0),
        (15.0, 5.0, 1.0, 15.0, 8.0),
        (15.0, 8.0, 0.0, 5.0, 8.0),
        (5.0, 8.0, 1.0, 5.0, 5.0),
    ]
    .into_iter()
    .map(|(x0, y0, bulge, x1, y1)| Polyline::open([(x0, y0, bulge), (x1, y1, 0.0)]))
    .collect();
    curves.push(Polyline::circle(Point::new(25.0, 10.0), 2.0));
    curves
}

/// Perimeter, area, smallest inside radius, narrowest slot and thinnest wall of each contour, in order of area; and
/// its depth.
fn summary(contours: &Contours) -> Vec<([f64; 5], usize)> {
    let mm = |width: &Option<Box<Width>>| width.as_ref().map_or(-1.0, |width| width.width_mm);
    let mut rows: Vec<_> = contours
        .list
        .iter()
        .map(|c| {
            let radius = c.min_inside_radius_mm.unwrap_or(-1.0);
            let measures = [
                c.area_mm2,
                c.perimeter_mm,
                radius,
                mm(&c.narrowest_slot),
                mm(&c.thinnest_wall),
            ];
            (measures, c.depth)
        })
        .collect();
    rows.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]));
    rows
}

/// The plate with its curves in another order, some of them reversed, turned, mirrored and moved, has the same measures.
fn check((angle, dx, dy, mirror): (f64, f64, f64, bool), reversed: &[bool], order: &[usize]) {
    let plain = plate();
    let wanted = summary(&made(plain.iter().cloned().map(|p| ("0", p))));
    assert_eq!(wanted.len(), 3);
    let turned = order.iter().map(|&i| {
        let vertices = plain[i].vertices.iter().map(|v| Vertex {
            at: moved(v.at, angle, dx, dy, mirror),
            bulge: if mirror { -v.bulge } else { v.bulge },
        });
        let polyline = Polyline {
            vertices: vertices.collect(),
            closed: plain[i].closed,
        };
        (
            "0",
            if reversed[i] {
                polyline.reversed()
            } else {
                polyline
            },
        )
    });
    let got = summary(&made(turned));
    assert_eq!(wanted.len(), got.len());
    for ((wanted, depth), (got, got_depth)) in wanted.iter().zip(&got) {
        assert_eq!(depth, got_depth);
        for (w, g) in wanted.iter().zip(got) {
            assert!((w - g).abs() < 1e-7, "{got:?} is not {wanted:?}");
        }
    }
}

/// Found by chance once in 14 000: the wall between the hole and the round end of the plate was told as 7.142 instead of 7 mm.
#[test]
fn the_wall_before_a_round_end_is_seen_far_from_the_origin() {
    let all: Vec<usize> = (0..11).collect();
    check(
        (1.778_043_068_648_907_3, 9928.9, 5236.6, true),
        &[false; 11],
        &all,
    );
}

proptest! {
    // The same plates in each run; others are tried by another seed.
    #![proptest_config(ProptestConfig { rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]
    #[test]
    fn moving_turning_mirroring_and_shuffling_change_nothing(
        angle in -PI..PI,
        dx in -1e4..1e4f64,
        dy in -1e4..1e4f64,
        mirror: bool,
        reversed in proptest::collection::vec(any::<bool>(), 11),
        order in Just((0..11).collect::<Vec<usize>>()).prop_shuffle(),
    ) {
        check((angle, dx, dy, mirror), &reversed, &order);
    }

    #[test]
    fn where_a_loop_starts_does_not_matter(start in 0usize..6) {
        let loop_ = &made(plate().into_iter().map(|p| ("0", p))).list[0].polyline;
        let mut turned = loop_.clone();
        turned.vertices.rotate_left(start);
        let contour = &made([("0", turned)]).list[0];
        close(contour.perimeter_mm, loop_.length());
        close(contour.area_mm2, loop_.area());
    }
}

/// Between two rounds lies a bay that ends in a cusp, and between two hollows a spike that does: one is an inside corner
/// without an angle, the other none, however the part is turned. Where walls turn back, the sense of the turn is rounding.
#[test]
fn a_cusp_is_an_inside_corner_and_a_spike_is_none() {
    let q = 2f64.sqrt() - 1.0;
    let bay = [
        (0.0, 0.0, 0.0),
        (20.0, 0.0, 0.0),
        (20.0, 10.0, 0.0),
        (14.0, 10.0, q),
        (10.0, 6.0, q),
        (6.0, 10.0, 0.0),
        (0.0, 10.0, 0.0),
    ];
    let spike = [
        (0.0, -2.0, 0.0),
        (20.0, -2.0, 0.0),
        (20.0, 0.0, 0.0),
        (14.0, 0.0, -q),
        (10.0, 4.0, -q),
        (6.0, 0.0, 0.0),
        (0.0, 0.0, 0.0),
    ];
    for (corners, cusps) in [(bay, 1), (spike, 0)] {
        for step in 0..36 {
            for mirror in [false, true] {
                let place = |(x, y, bulge): (f64, f64, f64)| {
                    let p = moved(Point::new(x, y), f64::from(step) * 0.3, 1.7, -0.9, mirror);
                    (p.x, p.y, if mirror { -bulge } else { bulge })
                };
                let contours = made([("0", Polyline::closed(corners.map(place)))]);
                let found = &contours.list[0].sharp_inside_corners;
                assert_eq!(found.len(), cusps, "turned {step}, mirrored {mirror}");
                assert!(found.iter().all(|corner| corner.angle_rad < 1e-6));
            }
        }
    }
}
