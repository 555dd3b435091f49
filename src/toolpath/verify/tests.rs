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

/// A circle of 5 mm, and a rectangle of 10 × 6 mm with the parallel round it: paths beside their offset by so much.
fn beside(off_mm: f64) -> Vec<(Polyline, f64, Polyline)> {
    let center = Point::new(3.0, -2.0);
    let circle = Polyline::circle(center, 5.0);
    let (w, h, d, q) = (10.0, 6.0, OFFSET + off_mm, (std::f64::consts::PI / 8.0).tan());
    let rectangle = Polyline::closed([(0.0, 0.0, 0.0), (w, 0.0, 0.0), (w, h, 0.0), (0.0, h, 0.0)]);
    let round_it = Polyline::closed([
        (0.0, -d, 0.0),
        (w, -d, q),
        (w + d, 0.0, 0.0),
        (w + d, h, q),
        (w, h + d, 0.0),
        (0.0, h + d, q),
        (-d, h, 0.0),
        (-d, 0.0, q),
    ]);
    let within = Polyline::closed([(d, d, 0.0), (d, h - d, 0.0), (w - d, h - d, 0.0), (w - d, d, 0.0)]);
    vec![
        (circle.clone(), OFFSET, Polyline::circle(center, 5.0 + d)),
        (circle, -OFFSET, Polyline::circle(center, 5.0 - d).reversed()),
        (rectangle.clone(), OFFSET, round_it),
        (rectangle, -OFFSET, within),
    ]
}

/// The deviation of a path that lies beside its offset everywhere by the same is that; a tenth of a micrometre is the limit.
#[test]
fn a_tenth_of_a_micrometre_is_the_limit_on_both_sides() {
    for off_mm in [0.0, 0.7e-4, -0.7e-4, 1.2e-4, -1.2e-4, 5e-4, -5e-4] {
        for (contour, offset_mm, path) in beside(off_mm) {
            let index = SegmentIndex::of([&contour]);
            let verdict = Verifier::new(&index, offset_mm).verify(std::slice::from_ref(&path));
            let place = format!("{off_mm} at {offset_mm}: {verdict:?}");
            match verdict {
                Ok(deviation_mm) => {
                    assert!(
                        off_mm.abs() <= PATH_MM && (deviation_mm - off_mm.abs()).abs() <= 1.1e-5,
                        "{place}"
                    );
                }
                Err(flaw) => {
                    let fault = if off_mm > 0.0 {
                        PathFault::TooFar
                    } else {
                        PathFault::TooNear
                    };
                    assert!(off_mm.abs() > PATH_MM && flaw.fault == fault, "{place}");
                }
            }
        }
    }
}

/// A slot is just wide enough where its walls are twice the offset apart, to within [`PATH_MM`] a wall.
#[test]
fn a_slot_of_twice_the_offset_just_fits() {
    for (off_mm, fits) in [
        (0.0, true),
        (1.9e-4, true),
        (-1.9e-4, true),
        (2.1e-4, false),
        (-2.1e-4, false),
        (0.01, false),
        (-0.01, false),
    ] {
        let w = 2.0 * OFFSET + off_mm;
        // The opening itself, and a slot in an edge: 10 mm long, level or turned by 30°.
        let opening = [(0.0, 0.0), (10.0, 0.0), (10.0, w), (0.0, w)];
        let edge = [
            (0.0, 5.0),
            (0.0, -5.0),
            (10.0, -5.0),
            (10.0, 0.0),
            (2.0, 0.0),
            (2.0, w),
            (10.0, w),
            (10.0, 5.0),
        ];
        let both = [(&opening[..], -OFFSET), (&edge[..], OFFSET)];
        for (turn, (corners, offset_mm)) in [0.0f64, std::f64::consts::PI / 6.0]
            .into_iter()
            .flat_map(|turn| both.map(|one| (turn, one)))
        {
            let (sin, cos) = turn.sin_cos();
            let turned = corners
                .iter()
                .map(|(x, y)| (x * cos - y * sin, x * sin + y * cos, 0.0));
            let contour = Polyline::closed(turned);
            // As it is, and in so many pieces that only what is near is looked at.
            let pieces = contour
                .segments()
                .flat_map(|s| (0..40).map(move |i| s.part(f64::from(i) / 40.0, f64::from(i + 1) / 40.0)));
            for index in [SegmentIndex::of([&contour]), SegmentIndex::new(pieces.collect())] {
                assert_eq!(just_fits(&index, offset_mm), fits, "{off_mm} at {offset_mm}");
            }
        }
    }
    // Walls of a corner do not face each other, and short ones say nothing.
    let corner = Polyline::closed([
        (0.0, 0.0, 0.0),
        (2.0 * OFFSET, 0.0, 0.0),
        (0.0, 2.0 * OFFSET, 0.0),
    ]);
    assert!(!just_fits(&SegmentIndex::of([&corner]), -OFFSET));
    let short = Polyline::closed([
        (0.0, 0.0, 0.0),
        (0.019, 0.0, 0.0),
        (0.019, 0.25, 0.0),
        (0.0, 0.25, 0.0),
    ]);
    assert!(!just_fits(&SegmentIndex::of([&short]), -OFFSET));
}

/// Segments that cross, touch at ends, run along one another or pass by: what counts as a crossing, and what is a line run twice.
#[test]
fn crossings_touches_and_lines_run_twice_are_told_apart() {
    let fault = |lines: [[f64; 4]; 2]| {
        let lines = lines.map(|[x0, y0, x1, y1]| Segment::line(Point::new(x0, y0), Point::new(x1, y1)));
        simple(&SegmentIndex::new(lines.to_vec()), 1.0)
            .err()
            .map(|flaw| (flaw.fault, flaw.at))
    };
    let at = |x: f64, y: f64| Point::new(x, y);
    let cross = fault([[0.0, 0.0, 2.0, 0.0], [1.0, -1.0, 1.0, 1.0]]);
    assert!(
        matches!(cross, Some((PathFault::Crosses, p)) if p.distance(at(1.0, 0.0)) < 1e-9),
        "{cross:?}"
    );
    // Two tenths of a micrometre from an end it is no crossing; beyond it is.
    assert_eq!(fault([[0.0, 0.0, 2.0, 0.0], [1.0, -1.0, 1.0, 1.9e-4]]), None);
    assert!(fault([[0.0, 0.0, 2.0, 0.0], [1.0, -1.0, 1.0, 2.1e-4]]).is_some());
    assert_eq!(fault([[0.0, 0.0, 2.0, 0.0], [1.9e-4, -1.0, 1.9e-4, 1.0]]), None);
    // Nor at a glance: a sine of 0.01.
    assert_eq!(fault([[0.0, 0.0, 2.0, 0.0], [0.0, -0.0045, 2.0, 0.0135]]), None);
    assert!(fault([[0.0, 0.0, 2.0, 0.0], [0.0, -0.0055, 2.0, 0.0165]]).is_some());
    // A segment of four tenths of a micrometre is too short to cross.
    assert_eq!(fault([[0.0, 0.0, 2.0, 0.0], [1.0, -1.9e-4, 1.0, 1.9e-4]]), None);
    let twice = |y: f64| fault([[0.0, 0.0, 2.0, 0.0], [0.5, y, 1.5, y]]).map(|(fault, _)| fault);
    assert_eq!(
        [twice(0.0), twice(0.9e-4), twice(1.1e-4)],
        [Some(PathFault::Doubled), Some(PathFault::Doubled), None]
    );
    // There and back is a spike, which other judges see.
    assert_eq!(fault([[0.0, 0.0, 2.0, 0.0], [1.5, 0.0, 0.5, 0.0]]), None);
    assert_eq!(fault([[0.0, 0.0, 2.0, 0.0], [3.0, -1.0, 3.0, 1.0]]), None);
}

/// Where one loop meets itself: at a corner of another wall, in a spike, not at its own joints.
#[test]
fn a_loop_that_meets_itself_is_seen() {
    let meets = |corners: &[(f64, f64)]| {
        let mut contour = Polyline::closed(corners.iter().map(|&(x, y)| (x, y, 0.0)));
        let found = touching(&SegmentIndex::of([&contour]));
        for _ in corners {
            contour.vertices.rotate_left(1);
            assert_eq!(touching(&SegmentIndex::of([&contour])).is_some(), found.is_some());
        }
        found
    };
    let square = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
    assert_eq!(meets(&square), None);
    // A notch whose point comes up to the wall, or stops two nanometres short of it.
    let notch = |y: f64| {
        meets(&[
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 4.0),
            (3.0, 4.0),
            (2.0, y),
            (1.0, 4.0),
            (0.0, 4.0),
        ])
    };
    assert_eq!(
        notch(0.0).map(|at| at.distance(Point::new(2.0, 0.0)) < 1e-9),
        Some(true)
    );
    assert_eq!(notch(2e-9), None);
    // A spike out of a side and back.
    let spike = meets(&[
        (0.0, 0.0),
        (4.0, 0.0),
        (4.0, 2.0),
        (6.0, 2.0),
        (4.0, 2.0),
        (4.0, 4.0),
        (0.0, 4.0),
    ]);
    assert!(spike.is_some_and(|at| at.y == 2.0));
    // A line and back half of it, and round to its start: the joint alone tells.
    let drop = |back_y: f64| {
        let contour = Polyline::closed([(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (1.0, back_y, 1.0)]);
        touching(&SegmentIndex::of([&contour]))
    };
    assert_eq!(drop(0.0), Some(Point::new(2.0, 0.0)));
    assert_eq!(drop(-0.1), None);
    // A figure of eight crosses itself.
    assert!(meets(&[(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)]).is_some());
    assert_eq!(
        crossing(&SegmentIndex::of([&Polyline::closed(
            square.map(|(x, y)| (x, y, 0.0))
        )])),
        None
    );
    let eight = Polyline::closed([(0.0, 0.0, 0.0), (4.0, 4.0, 0.0), (4.0, 0.0, 0.0), (0.0, 4.0, 0.0)]);
    let at = crossing(&SegmentIndex::of([&eight])).expect("it crosses itself");
    assert!(at.distance(Point::new(2.0, 2.0)) < 1e-9);
}

/// A circle of chords whose rise is the deviation of a path of arcs: halved until it is known, and beyond the limit refused.
#[test]
fn a_path_of_arcs_round_many_chords_is_off_by_their_rise() {
    let (few, many) = (TIGHT_MM, CRUMBS_TIGHT_MM);
    for (radius, n, passes, tight_mm) in [
        (5.0, 700, true, many),
        (5.0, 600, true, many),
        (5.0, 450, false, many),
        (0.03, 44, true, few),
        (0.03, 36, false, few),
    ] {
        let half = std::f64::consts::PI / f64::from(n);
        let contour = Polyline::closed((0..n).map(|i| {
            let p = Vector::unit(2.0 * half * f64::from(i)) * radius;
            (p.x, p.y, 0.0)
        }));
        let rise_mm = radius * (1.0 - half.cos());
        let index = SegmentIndex::of([&contour]);
        let path = Polyline::circle(Point::default(), radius + OFFSET);
        match Verifier::new(&index, OFFSET).verify(std::slice::from_ref(&path)) {
            Ok(off_mm) => assert!(
                passes && (off_mm - rise_mm).abs() <= tight_mm,
                "{n}: {off_mm}, not {rise_mm}"
            ),
            Err(flaw) => assert!(!passes && flaw.fault == PathFault::TooFar, "{n}: {flaw:?}"),
        }
    }
}

/// A round opening with a tongue across it, aslant, that stops short of the far wall by less than the wire needs: two rooms whose walls lie within
/// the bounds of one another's paths. Neither path alone is all of it.
#[test]
fn half_of_a_round_room_left_out_is_seen() {
    use std::f64::consts::PI;
    let (radius, half_mm, neck_mm) = (5.0_f64, 0.05, 0.15);
    let (out, side) = (Vector::unit(0.75 * PI), Vector::unit(1.25 * PI));
    let sweep = 2.0 * PI - 2.0 * (half_mm / radius).asin();
    let first = 0.75 * PI + (half_mm / radius).asin();
    let mut corners: Vec<(f64, f64, f64)> = (0..4)
        .map(|i| {
            let p = Vector::unit(first + sweep * f64::from(i) / 3.0) * radius;
            (p.x, p.y, if i < 3 { (sweep / 12.0).tan() } else { 0.0 })
        })
        .collect();
    let tip = Vector::default() - out * (radius - neck_mm);
    corners.extend([tip - side * half_mm, tip + side * half_mm].map(|p| (p.x, p.y, 0.0)));
    let contour = Polyline::closed(corners);
    let loops = crate::toolpath::offset(&contour, -OFFSET)
        .expect("two rooms")
        .loops;
    assert_eq!(loops.len(), 2);
    let index = SegmentIndex::of([&contour]);
    let verifier = Verifier::new(&index, -OFFSET);
    assert!(verifier.verify(&loops).is_ok());
    for one in &loops {
        let flaw = verifier
            .verify(std::slice::from_ref(one))
            .expect_err("the other room is missing");
        assert_eq!(flaw.fault, PathFault::Missing);
    }
}

/// Waves of short chords with an arc now and then, so that pairs and strips decide most of it.
fn waves() -> Polyline {
    Polyline::closed((0..600).map(|i| {
        let angle = f64::from(i) / 600.0 * std::f64::consts::TAU;
        let radius = 2.0 + 0.25 * (7.0 * angle).sin();
        let bulge = if i % 11 == 0 { 0.004 } else { 0.0 };
        (radius * angle.cos(), radius * angle.sin(), bulge)
    }))
}

/// What is wrong with a path as told by places along it: by how much it comes nearer to the contour than the offset, and strays farther.
fn off_by_samples(contour: &Polyline, path: &Polyline, changed: &[usize]) -> f64 {
    const SAMPLES: u32 = 32;
    let n = path.segment_count();
    let off = |i: &usize| {
        let segment = path.segment(i % n);
        let near: Vec<Segment> = contour
            .segments()
            .filter(|s| s.from.distance(segment.from) < 1.0)
            .collect();
        let places = (0..=SAMPLES).map(move |k| segment.at(f64::from(k) / f64::from(SAMPLES)));
        let away = places.map(|p| near.iter().map(|s| s.distance(p)).fold(f64::INFINITY, f64::min));
        away.map(|away| (away - OFFSET).abs()).fold(0.0, f64::max)
    };
    changed.iter().map(off).fold(0.0, f64::max)
}

/// The verdict on each tampered path is that of samples, but within a hundredth of [`PATH_MM`]; about half of them are beyond it.
#[test]
fn a_path_of_many_pieces_is_refused_where_samples_say_so() {
    let contour = waves();
    let index = SegmentIndex::of([&contour]);
    let (mut refused, mut accepted) = (0, 0);
    for offset_mm in [OFFSET, -OFFSET] {
        let right = crate::toolpath::offset(&contour, offset_mm)
            .expect("verified")
            .loops
            .remove(0);
        let verifier = Verifier::new(&index, offset_mm);
        assert!(verifier.verify(std::slice::from_ref(&right)).expect("passes") < 1e-8);
        let n = right.segment_count();
        for (k, i) in (0..n).step_by(23).enumerate() {
            // From a twentieth of what is allowed to twenty times that, in all directions, and the same of bulges.
            let much = PATH_MM * 0.05 * 400f64.powf((k * 7 % 29) as f64 / 28.0);
            let (mut moved, mut bent) = (right.clone(), right.clone());
            moved.vertices[i].at = moved.vertices[i].at + Vector::unit(k as f64) * much;
            bent.vertices[i].bulge += 2.0 * much / right.segment(i).chord();
            for wrong in [moved, bent] {
                let off_mm = off_by_samples(&contour, &wrong, &[i + n - 1, i]);
                match verifier.verify(&[wrong]) {
                    Ok(worst) => {
                        assert!(off_mm < 1.01 * PATH_MM, "vertex {i}, {much} mm: {off_mm} passes");
                        assert!(
                            worst > off_mm - 0.01 * PATH_MM,
                            "{worst} mm are told, {off_mm} are seen"
                        );
                        accepted += 1;
                    }
                    Err(flaw) => {
                        assert!(
                            off_mm > 0.99 * PATH_MM,
                            "vertex {i}, {much} mm: {off_mm} is {flaw:?}"
                        );
                        refused += 1;
                    }
                }
            }
        }
    }
    assert!(
        refused > 50 && accepted > 50,
        "{refused} refused, {accepted} accepted"
    );
}

/// Each class of what may be wrong, on the same contour.
#[test]
fn tampered_paths_of_many_pieces_are_refused() {
    let contour = waves();
    let index = SegmentIndex::of([&contour]);
    for offset_mm in [OFFSET, -OFFSET] {
        let right = crate::toolpath::offset(&contour, offset_mm)
            .expect("verified")
            .loops
            .remove(0);
        let verdict = |path: &[Polyline]| {
            let verifier = Verifier::new(&index, offset_mm);
            verifier.verify(path).map(|_| ()).map_err(|flaw| flaw.fault)
        };
        let n = right.vertices.len();
        // Any start does.
        let mut begun = right.clone();
        begun.vertices.rotate_left(n / 3);
        assert_eq!(verdict(std::slice::from_ref(&begun)), Ok(()));
        // Of another offset, and shifted, by twice what is allowed.
        for much in [2.0 * PATH_MM, -2.0 * PATH_MM] {
            let other = crate::toolpath::offset(&contour, offset_mm + much)
                .expect("verified")
                .loops;
            assert!(matches!(
                verdict(&other),
                Err(PathFault::TooNear | PathFault::TooFar)
            ));
            let mut shifted = right.clone();
            for v in &mut shifted.vertices {
                v.at = v.at + Vector::new(0.6, 0.8) * much;
            }
            assert!(matches!(
                verdict(&[shifted]),
                Err(PathFault::TooNear | PathFault::TooFar)
            ));
        }
        for first in (0..n - 40).step_by(97) {
            // A stretch left out.
            let mut cut = right.clone();
            cut.vertices.drain(first..first + 40);
            verdict(&[cut]).expect_err("forty pieces are missing");
            // A stretch run three times, to and fro.
            let mut again = right.clone();
            let back: Vec<Vertex> = right.reversed().vertices[n - first - 20..n - first].to_vec();
            let there: Vec<Vertex> = right.vertices[first..first + 20].to_vec();
            again
                .vertices
                .splice(first + 20..first + 20, back.into_iter().chain(there));
            verdict(&[again]).expect_err("runs along one line three times");
            // Two vertices swapped.
            let mut swapped = right.clone();
            swapped.vertices.swap(first, first + 9);
            verdict(&[swapped]).expect_err("runs to and fro");
        }
        assert_eq!(verdict(&[]), Err(PathFault::Missing));
        assert_eq!(verdict(&[right.reversed()]), Err(PathFault::Backwards));
        assert_eq!(verdict(&[right.clone(), right.clone()]), Err(PathFault::Doubled));
        let other_side = crate::toolpath::offset(&contour, -offset_mm)
            .expect("verified")
            .loops;
        assert_eq!(verdict(&other_side), Err(PathFault::WrongSide));
    }
}

/// A second wall that no piece of the path follows comes too near to one of them: only a look at all that is near can tell.
#[test]
fn a_wall_that_no_piece_follows_is_seen() {
    for (near_mm, at, high) in [-1.5 * PATH_MM, 0.5 * PATH_MM]
        .into_iter()
        .flat_map(|near_mm| [(near_mm, 5.0, 4.0), (near_mm, 9.0, 40.0)])
    {
        // A path along the lower wall of a slot, and a tooth from the upper wall that reaches down to it.
        let tip = 2.0 * OFFSET + near_mm;
        let contour = Polyline::closed([
            (0.0, 0.0, 0.0),
            (10.0, 0.0, 0.0),
            (10.0, high, 0.0),
            (at + 0.1, high, 0.0),
            (at, tip, 0.0),
            (at - 0.1, high, 0.0),
            (0.0, high, 0.0),
        ]);
        let without = Polyline::closed([
            (0.0, 0.0, 0.0),
            (10.0, 0.0, 0.0),
            (10.0, high, 0.0),
            (0.0, high, 0.0),
        ]);
        let path = crate::toolpath::offset(&without, -OFFSET)
            .expect("verified")
            .loops;
        let index = SegmentIndex::of([&contour]);
        let verifier = Verifier::new(&index, -OFFSET);
        let near = verifier.verify(&path).expect_err("the tooth is in its way");
        assert_eq!(near.fault, PathFault::TooNear);
        // The path that goes round the tooth as well, or past its tip where there is room.
        let right = crate::toolpath::offset(&contour, -OFFSET).expect("verified");
        assert!(verifier.verify(&right.loops).is_ok());
    }
}

/// As [`a_wall_that_no_piece_follows_is_seen`], where that wall and the path are in short pieces, each of them looked at alone.
#[test]
fn a_wall_of_short_pieces_that_no_piece_follows_is_seen() {
    for (near_mm, fault) in [
        (-1.5 * PATH_MM, Some(PathFault::TooNear)),
        (-0.5 * PATH_MM, None),
        (0.5, None),
    ] {
        let bow = (0..=200).map(|i| {
            let x = 6.0 - 0.01 * f64::from(i);
            (x, 2.0 * OFFSET + near_mm + 2.0 * (x - 5.0).powi(2), 0.0)
        });
        let frame = [
            (0.0, 0.0, 0.0),
            (10.0, 0.0, 0.0),
            (10.0, 4.0, 0.0),
            (6.0, 4.0, 0.0),
        ];
        let contour = Polyline::closed(
            frame
                .into_iter()
                .chain(bow)
                .chain([(4.0, 4.0, 0.0), (0.0, 4.0, 0.0)]),
        );
        let index = SegmentIndex::of([&contour]);
        let verifier = Verifier::new(&index, -OFFSET);
        for steps in [80, 800, 3_000] {
            let at = |i: i32| Point::new(9.0 - 8.0 * f64::from(i) / f64::from(steps), OFFSET);
            let pieces: Vec<Segment> = (0..steps).map(|i| Segment::line(at(i), at(i + 1))).collect();
            let mut last = 0;
            let reach = OFFSET + PATH_MM;
            let found = near_each(&pieces, &index, reach, OFFSET, |_, piece, near| {
                let along = verifier.along_one(piece, near, &mut last);
                assert!(verifier.sound(piece, near, along)? < PATH_MM);
                Ok(())
            });
            assert_eq!(
                found.err().map(|flaw| flaw.fault),
                fault,
                "{near_mm} mm, {steps} pieces"
            );
        }
    }
}

/// A plate of lines and arcs: rounded and sharp corners that jut out and that reach in, and a bay.
fn plate() -> Polyline {
    let quarter = (std::f64::consts::PI / 8.0).tan();
    Polyline::closed([
        (0.0, 0.0, 0.0),
        (6.0, 0.0, quarter),
        (7.0, 1.0, 0.0),
        (7.0, 2.0, 0.0),
        (6.0, 2.5, -quarter),
        (5.5, 3.0, 0.0),
        (5.5, 4.0, 0.0),
        (4.0, 4.0, -0.7),
        (2.0, 4.0, 0.0),
        (1.5, 3.2, 0.0),
        (1.0, 4.0, 0.0),
        (0.0, 4.0, 0.3),
    ])
}

/// The pieces of path with what lies between `from` and `to` mm along piece `i` (beyond its ends: on its neighbours) taken out, and that.
fn with_gap(pieces: &[Segment], i: usize, from: f64, to: f64) -> (Vec<Segment>, Vec<Segment>) {
    let n = pieces.len();
    let (before, after) = ((i + n - 1) % n, (i + 1) % n);
    let (mut left, mut out) = (Vec::new(), Vec::new());
    for (k, &piece) in pieces.iter().enumerate() {
        let length = piece.length();
        let starts = match k {
            _ if k == i => 0.0,
            _ if k == before => -length,
            _ if k == after => pieces[i].length(),
            _ => {
                left.push(piece);
                continue;
            }
        };
        let [from, to] = [from, to].map(|at| ((at - starts) / length).clamp(0.0, 1.0));
        left.extend((from > 0.0).then(|| piece.part(0.0, from)));
        out.extend((from < to).then(|| piece.part(from, to)));
        left.extend((to < 1.0).then(|| piece.part(to, 1.0)));
    }
    (left, out)
}

/// Two rooms with a block between them that comes so near to the wall below that the wire does not pass.
fn block() -> Polyline {
    Polyline::closed([
        (0.0, 0.0, 0.0),
        (10.0, 0.0, 0.0),
        (10.0, 4.0, 0.0),
        (7.0, 4.0, 0.0),
        (7.0, 0.05, 0.0),
        (3.0, 0.05, 0.0),
        (3.0, 4.0, 0.0),
        (0.0, 4.0, 0.0),
    ])
}

/// A path with a gap is whole as long as no place of the gap is farther than a tenth of a micrometre from an end of it: in the middle of a line or
/// arc, at its joints, and where all of it or more is taken out.
#[test]
fn a_path_with_a_gap_is_refused_where_it_is() {
    for (contour, step) in [(rooms(), 1), (plate(), 1), (block(), 1), (waves(), 103)] {
        let index = SegmentIndex::of([&contour]);
        for offset_mm in [OFFSET, -OFFSET] {
            let verifier = Verifier::strict(&index, offset_mm);
            let loops = crate::toolpath::offset(&contour, offset_mm)
                .expect("verified")
                .loops;
            assert_eq!(verifier.complete(&SegmentIndex::of(&loops)), Ok(()));
            for (one, i) in loops
                .iter()
                .flat_map(|one| (0..one.segment_count()).step_by(step).map(move |i| (one, i)))
            {
                let others = loops.iter().filter(|&other| other != one);
                let others: Vec<Segment> = others.flat_map(Polyline::segments).collect();
                let pieces: Vec<Segment> = one.segments().collect();
                let length = pieces[i].length();
                let gap = |at: f64, half: f64| (at - half * PATH_MM, at + half * PATH_MM);
                let mut gaps = vec![
                    (gap(0.0, 0.9), true),
                    (gap(0.0, 1.3), false),
                    ((0.2 * length, 0.7 * length), length < 2.0 * PATH_MM),
                    ((0.0, length), length < 1.8 * PATH_MM),
                    ((-1.0, length + 1.0), false),
                ];
                if length > 6.0 * PATH_MM {
                    gaps.extend([(gap(0.3 * length, 0.95), true), (gap(0.3 * length, 1.2), false)]);
                }
                for ((from, to), whole) in gaps {
                    let (mut left, out) = with_gap(&pieces, i, from, to);
                    left.extend(&others);
                    let away = |at: Point, of: &[Segment]| {
                        of.iter().map(|s| s.distance(at)).fold(f64::INFINITY, f64::min)
                    };
                    let place = format!("{from} to {to} mm along piece {i} at {offset_mm}");
                    match verifier.complete(&SegmentIndex::new(left.clone())) {
                        Ok(()) => assert!(whole, "{place}"),
                        Err(PathFlaw { at, fault }) => {
                            assert!(
                                !whole && fault == PathFault::Missing,
                                "{place}: {fault:?} at {at:?}"
                            );
                            assert!(
                                away(at, &left) > PATH_MM && away(at, &out) < 1e-6,
                                "{place}: {at:?}"
                            );
                        }
                    }
                }
            }
        }
    }
}

/// Two teeth whose tips forbid the wire along the wall below each up to a place; where these meet within nanometres nothing is left out.
#[test]
fn nothing_is_left_out_where_one_wall_forbids_from_where_another_does() {
    let (half, over_mm) = (0.075, 2.5e-6);
    let high = OFFSET + (OFFSET * OFFSET - half * half).sqrt();
    for (apart, whole) in [(half - over_mm, true), (half + 2.0 * PATH_MM, false)] {
        let tooth = |x: f64| [(x + 0.05, 4.0, 0.0), (x, high, 0.0), (x - 0.05, 4.0, 0.0)];
        let frame = [
            (0.0, 4.0, 0.0),
            (0.0, 0.0, 0.0),
            (10.0, 0.0, 0.0),
            (10.0, 4.0, 0.0),
        ];
        let teeth = [tooth(4.7 + apart), tooth(4.7 - apart)].concat();
        let contour = Polyline::closed(frame.into_iter().chain(teeth));
        let index = SegmentIndex::of([&contour]);
        let path = right_answer_of(&contour, -OFFSET);
        let rooms = path.into_iter().filter(|s| (s.at(0.5).x - 4.7).abs() > 0.03);
        let verdict = Verifier::strict(&index, -OFFSET).complete(&SegmentIndex::new(rooms.collect()));
        assert_eq!(verdict.is_ok(), whole, "{apart}: {verdict:?}");
    }
}

/// A path that lies beside its offset by a little less than a tenth of a micrometre is all of it; by a little more it is none of it.
#[test]
fn a_path_beside_its_offset_leaves_all_of_it_out() {
    for off_mm in [0.95e-4, -0.95e-4, 1.05e-4, -1.05e-4] {
        for (contour, offset_mm, path) in beside(off_mm) {
            let index = SegmentIndex::of([&contour]);
            let verdict = Verifier::new(&index, offset_mm).complete(&SegmentIndex::of([&path]));
            let fault = (off_mm.abs() > PATH_MM).then_some(PathFault::Missing);
            assert_eq!(
                verdict.err().map(|flaw| flaw.fault),
                fault,
                "{off_mm} at {offset_mm}"
            );
        }
    }
}

/// Five gaps in one line that a path may have do not hide a sixth that it may not, wherever they are.
#[test]
fn many_small_gaps_do_not_hide_a_large_one() {
    let square = Polyline::closed([
        (0.0, 0.0, 0.0),
        (10.0, 0.0, 0.0),
        (10.0, 10.0, 0.0),
        (0.0, 10.0, 0.0),
    ]);
    let index = SegmentIndex::of([&square]);
    let verifier = Verifier::new(&index, -OFFSET);
    let path = right_answer_of(&square, -OFFSET);
    for large in (0..=6).chain([99]) {
        let (first, rest) = path.split_first().expect("four lines");
        let mut pieces = rest.to_vec();
        let mut from = 0.0;
        for i in 0..=6 {
            let half = if i == large { 500.0 } else { 0.9 } * PATH_MM / first.length();
            let at = 0.1 + 0.12 * f64::from(i);
            pieces.push(first.part(from, at - half));
            from = at + half;
        }
        pieces.push(first.part(from, 1.0));
        let verdict = verifier.complete(&SegmentIndex::new(pieces));
        let fault = (large < 99).then_some(PathFault::Missing);
        assert_eq!(verdict.err().map(|flaw| flaw.fault), fault, "gap {large}");
    }
}

fn right_answer_of(contour: &Polyline, offset_mm: f64) -> Vec<Segment> {
    let found = crate::toolpath::offset(contour, offset_mm).expect("verified");
    found.loops.iter().flat_map(Polyline::segments).collect()
}

/// A slot between two rooms may be left out where it is as wide as twice the offset to within a tenth of a micrometre, and only where the judge
/// is not the strict one.
#[test]
fn a_slot_that_just_fits_may_be_left_out_and_no_other() {
    for (off_mm, lenient, strict) in [(-1e-5, true, true), (0.9e-4, true, false), (2.2e-4, false, false)] {
        let neck = 0.5 * (4.0 - 2.0 * OFFSET - off_mm);
        // Its walls are in pieces, so that only what is near is looked at.
        let steps = |i: i32| 4.0 + 0.05 * f64::from(i);
        let lower = (0..=40).map(|i| (steps(i), neck, 0.0));
        let upper = (0..=40).rev().map(|i| (steps(i), 4.0 - neck, 0.0));
        let right = [
            (6.0, 0.0, 0.0),
            (10.0, 0.0, 0.0),
            (10.0, 4.0, 0.0),
            (6.0, 4.0, 0.0),
        ];
        let left = [(4.0, 4.0, 0.0), (0.0, 4.0, 0.0), (0.0, 0.0, 0.0), (4.0, 0.0, 0.0)];
        let contour = Polyline::closed(lower.chain(right).chain(upper).chain(left));
        let room = |from: f64, to: f64| {
            let room = Polyline::closed([(from, 0.0, 0.0), (to, 0.0, 0.0), (to, 4.0, 0.0), (from, 4.0, 0.0)]);
            right_answer_of(&room, -OFFSET)
        };
        let mut rooms = [room(0.0, 4.0), room(6.0, 10.0)].concat();
        // Round the mouth of the slot the path has an arc about each corner, up to the middle of it.
        rooms.retain(|s| (s.at(0.5).x - 5.0).abs() > 1.2);
        let middle = 2.0;
        for (x, side) in [(4.0, -1.0), (6.0, 1.0)] {
            let wall = x + side * OFFSET;
            let ends = [(OFFSET, neck), (4.0 - OFFSET, 4.0 - neck)];
            for (far, corner) in ends {
                rooms.push(Segment::line(Point::new(wall, far), Point::new(wall, corner)));
                let center = Point::new(x, corner);
                let towards = if corner < middle { 1.0 } else { -1.0 };
                for i in 0..20 {
                    let turn = |i: i32| std::f64::consts::FRAC_PI_2 * f64::from(i) / 20.0;
                    let at =
                        |angle: f64| center + Vector::new(side * angle.cos(), towards * angle.sin()) * OFFSET;
                    let bulge = -side * towards * (turn(1) / 4.0).tan();
                    rooms.push(Segment::arc(at(turn(i)), at(turn(i + 1)), -bulge));
                }
            }
        }
        let (index, path) = (SegmentIndex::of([&contour]), SegmentIndex::new(rooms));
        let whole = |verifier: Verifier<'_>| verifier.complete(&path);
        let (one, other) = (
            whole(Verifier::new(&index, -OFFSET)),
            whole(Verifier::strict(&index, -OFFSET)),
        );
        assert_eq!(
            [one.is_ok(), other.is_ok()],
            [lenient, strict],
            "{off_mm}: {one:?}, {other:?}"
        );
    }
}

/// Back and on again by less than a tenth of a micrometre has no direction; by more it runs backwards.
#[test]
fn a_step_back_counts_beyond_a_tenth_of_a_micrometre() {
    for (back, fault) in [(0.9, None), (1.1, Some(PathFault::Backwards))] {
        let mut path = right_answer(-OFFSET);
        let line = path.segment(0);
        let along = line.direction(0.5) * PATH_MM;
        let at = line.at(0.5);
        let steps = [at, at + along * (-back)].map(|at| Vertex { at, bulge: 0.0 });
        path.vertices.splice(1..1, steps);
        assert_eq!(verdict(-OFFSET, &[path]).err(), fault);
    }
}
