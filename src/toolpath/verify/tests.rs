use super::simple::simple;
use super::*;
use crate::geometry::{Vector, Vertex};

const OFFSET: f64 = 0.125;

/// Two rooms with a passage that the wire passes.
fn rooms() -> Polyline {
    Polyline::closed([
        (0.0, 0.0, 0.0),
        (4.0, 0.0, 0.0),
        (4.0, 1.8, 0.0),
        (6.0, 1.8, 0.0),
        (6.0, 0.0, 0.0),
        (10.0, 0.0, 0.0),
        (10.0, 4.0, 0.0),
        (6.0, 4.0, 0.0),
        (6.0, 2.2, 0.0),
        (4.0, 2.2, 0.0),
        (4.0, 4.0, 0.0),
        (0.0, 4.0, 0.0),
    ])
}

fn verdict(offset_mm: f64, path: &[Polyline]) -> Result<f64, PathFault> {
    let index = SegmentIndex::of([&rooms()]);
    Verifier::new(&index, offset_mm)
        .verify(path)
        .map_err(|flaw| flaw.fault)
}

fn right_answer(offset_mm: f64) -> Polyline {
    crate::toolpath::offset(&rooms(), offset_mm)
        .expect("verified")
        .loops
        .remove(0)
}

#[test]
fn the_right_path_passes_from_any_start() {
    for offset_mm in [OFFSET, -OFFSET] {
        let mut path = right_answer(offset_mm);
        for _ in 0..path.vertices.len() {
            path.vertices.rotate_left(1);
            assert!(verdict(offset_mm, std::slice::from_ref(&path)).expect("passes") < 1e-9);
        }
    }
}

#[test]
fn each_vertex_moved_by_a_micrometre_is_seen() {
    let path = right_answer(-OFFSET);
    for i in 0..path.vertices.len() {
        for by in [Vector::new(0.8e-3, 0.6e-3), Vector::new(-0.8e-3, 0.6e-3)] {
            let mut wrong = path.clone();
            wrong.vertices[i].at = wrong.vertices[i].at + by;
            let fault = verdict(-OFFSET, &[wrong]).expect_err("a micrometre off");
            assert!(
                matches!(fault, PathFault::TooNear | PathFault::TooFar),
                "{fault:?}"
            );
        }
    }
}

#[test]
fn each_bulge_that_rises_a_micrometre_is_seen() {
    let path = right_answer(OFFSET);
    for i in 0..path.vertices.len() {
        for rise in [1e-3, -1e-3] {
            let mut wrong = path.clone();
            wrong.vertices[i].bulge += 2.0 * rise / path.segment(i).chord();
            verdict(OFFSET, &[wrong]).expect_err("a micrometre off");
        }
    }
}

#[test]
fn each_vertex_left_out_is_seen() {
    let path = right_answer(-OFFSET);
    for i in 0..path.vertices.len() {
        let mut wrong = path.clone();
        wrong.vertices.remove(i);
        verdict(-OFFSET, &[wrong]).expect_err("a corner cut off");
    }
}

#[test]
fn a_room_left_out_is_seen() {
    // The left room alone, shut off where the passage begins, as if the neck were too narrow.
    assert_eq!(verdict(-OFFSET, &[]), Err(PathFault::Missing));
    let narrow = crate::toolpath::offset(&rooms(), -0.21).expect("two loops").loops;
    assert_eq!(narrow.len(), 2);
    let index = SegmentIndex::of([&rooms()]);
    let verifier = Verifier::new(&index, -0.21);
    assert!(verifier.verify(&narrow).is_ok());
    for one in &narrow {
        let flaw = verifier
            .verify(std::slice::from_ref(one))
            .expect_err("the other room is missing");
        assert_eq!(flaw.fault, PathFault::Missing);
        assert!(!one.bounds().contains(flaw.at));
    }
}

#[test]
fn sides_ways_and_repeats_are_told_apart() {
    let (outside, inside) = (right_answer(OFFSET), right_answer(-OFFSET));
    assert_eq!(
        verdict(-OFFSET, std::slice::from_ref(&outside)),
        Err(PathFault::WrongSide)
    );
    assert_eq!(
        verdict(OFFSET, std::slice::from_ref(&inside)),
        Err(PathFault::WrongSide)
    );
    assert_eq!(verdict(OFFSET, &[outside.reversed()]), Err(PathFault::Backwards));
    assert_eq!(verdict(-OFFSET, &[inside.reversed()]), Err(PathFault::Backwards));
    assert_eq!(
        verdict(OFFSET, &[outside.clone(), outside]),
        Err(PathFault::Doubled)
    );
}

#[test]
fn a_spike_out_and_back_is_seen() {
    let mut path = right_answer(OFFSET);
    let first = path.vertices[0];
    let back = path.segment(0).at(0.5);
    path.vertices.splice(
        1..1,
        [
            Vertex {
                at: path.segment(0).at(0.8),
                bulge: 0.0,
            },
            Vertex { at: back, bulge: 0.0 },
        ],
    );
    assert_eq!(path.vertices[0], first);
    verdict(OFFSET, &[path]).expect_err("runs back on itself");
}

#[test]
fn two_segments_that_cross_are_seen() {
    let index = SegmentIndex::of([&Polyline::closed([
        (0.0, 0.0, 0.0),
        (4.0, 4.0, 0.0),
        (4.0, 0.0, 0.0),
        (0.0, 3.0, 0.0),
    ])]);
    assert_eq!(
        simple(&index, 1.0).map_err(|flaw| flaw.fault),
        Err(PathFault::Crosses)
    );
}

/// Both walls of the spike are nearest on both of its sides. Piece by piece down to the shortest this would be 800 million
/// of them.
#[test]
fn a_spike_of_no_width_is_soon_left_aside() {
    let spiked = Polyline::closed([
        (0.0, 0.0, 0.0),
        (4.0, 0.0, 0.0),
        (4.0, 2.0, 0.0),
        (10_004.0, 2.0, 0.0),
        (4.0, 2.0, 0.0),
        (4.0, 4.0, 0.0),
        (0.0, 4.0, 0.0),
    ]);
    let found = crate::toolpath::offset(&spiked, -OFFSET).expect("verified");
    let [inside] = &found.loops[..] else {
        panic!("{} loops", found.loops.len());
    };
    assert!((inside.area().abs() - 3.75 * 3.75).abs() < 1e-9);
}
