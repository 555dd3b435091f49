//! Shapes on which offset engines break, each from every start vertex and walked both ways.
//!
//! Areas without a closed form were computed once by an independent sampling of the distance to the contour;
//! closed forms are Steiner's: a convex shape of perimeter L and area A grown by d has perimeter L + 2πd and
//! area A + Ld + πd² (J. Steiner, "Über parallele Flächen", Monatsberichte der Akademie der Wissenschaften
//! zu Berlin, 1840; R. Schneider, "Convex Bodies: The Brunn–Minkowski Theory", ch. 4).

use std::f64::consts::{PI, TAU};

use super::offset::Offsets;
use super::{RefusalReason, offset};
use crate::geometry::{Point, Polyline, Vertex};

/// Offsets `shape` from every start vertex, both ways and mirrored, and holds the enclosed area (openings of the
/// result count negative) and the number of loops to what is expected.
fn expect(shape: &[(f64, f64, f64)], offset_mm: f64, loops: usize, area_mm2: f64, slack_mm2: f64) {
    let outline = Polyline::closed(shape.iter().copied());
    for start in 0..outline.vertices.len() {
        let mut begun = outline.clone();
        begun.vertices.rotate_left(start);
        for (way, walked) in [
            ("", begun.clone()),
            ("reversed", begun.reversed()),
            ("mirrored", mirrored(&begun)),
        ] {
            let found = offset(&walked, offset_mm).unwrap_or_else(|e| panic!("start {start} {way}: {e:?}"));
            let area: f64 = found.loops.iter().map(Polyline::area).sum::<f64>() * offset_mm.signum();
            assert_eq!(found.loops.len(), loops, "start {start} {way}: {:?}", found.loops);
            assert!(
                (area - area_mm2).abs() < slack_mm2,
                "start {start} {way}: area {area}, not {area_mm2}"
            );
            assert!(
                found.verified_mm < 3e-6,
                "start {start} {way}: verified to {}",
                found.verified_mm
            );
        }
    }
}

fn expect_length(shape: &[(f64, f64, f64)], offset_mm: f64, length_mm: f64) {
    let found = offset(&Polyline::closed(shape.iter().copied()), offset_mm).expect("verified");
    let length: f64 = found.loops.iter().map(Polyline::length).sum();
    assert!(
        (length - length_mm).abs() < 1e-9,
        "offset {offset_mm}: {length}, not {length_mm}"
    );
}

fn mirrored(outline: &Polyline) -> Polyline {
    let vertices = outline
        .vertices
        .iter()
        .map(|v| Vertex {
            at: Point::new(-v.at.x, v.at.y),
            bulge: -v.bulge,
        })
        .collect();
    Polyline {
        vertices,
        closed: true,
    }
}

fn rectangle(width: f64, height: f64) -> [(f64, f64, f64); 4] {
    [
        (0.0, 0.0, 0.0),
        (width, 0.0, 0.0),
        (width, height, 0.0),
        (0.0, height, 0.0),
    ]
}

fn rounded_rectangle(width: f64, height: f64, radius: f64) -> [(f64, f64, f64); 8] {
    let quarter = (PI / 8.0).tan();
    let (w, h, r) = (width, height, radius);
    [
        (r, 0.0, 0.0),
        (w - r, 0.0, quarter),
        (w, r, 0.0),
        (w, h - r, quarter),
        (w - r, h, 0.0),
        (r, h, quarter),
        (0.0, h - r, 0.0),
        (0.0, r, quarter),
    ]
}

const CASE_1: [(f64, f64, f64); 3] = [
    (-2.9951, -4.6503, -0.26404),
    (-2.921, -4.749, 0.0),
    (9.08, -3.81, 0.0),
];
const CASE_2: [(f64, f64, f64); 3] = [
    (-0.086, 3.763, -0.42185),
    (-0.265, 3.768, 0.0),
    (4.22, -2.73, 0.0),
];
const CASE_3: [(f64, f64, f64); 4] = [
    (7.58, 1.13, 0.0),
    (-2.47, -3.62, 0.0),
    (0.999, -7.793, 0.488_089),
    (1.196, -7.787, 0.0),
];
const CASE_4: [(f64, f64, f64); 7] = [
    (-4.44, -5.15, 0.0),
    (-4.3096, -5.144_994, 0.0),
    (-2.282_538, -4.416_379, -0.095_454),
    (-2.235_807, -4.409_09, 0.0),
    (-0.444_94, -4.472_87, 0.0),
    (3.93, -6.05, 0.0),
    (6.29, -1.45, 0.0),
];
const CASE_5: [(f64, f64, f64); 3] = [
    (2.714_056, 8.658_567, 0.353_938),
    (2.632_112, 8.7928, 0.0),
    (-0.114_742, 9.771_773, 0.0),
];
const CASE_6: [(f64, f64, f64); 4] = [
    (-4.582_267, -2.906_139, 0.0),
    (-6.275_296, -6.808_238, 0.727_545),
    (-6.096_815, -6.965_478, 0.0),
    (7.11, -3.22, 0.0),
];
const CASE_7: [(f64, f64, f64); 5] = [
    (-18_051.583_114_085_443, -8_611.091_660_175_496, 0.0),
    (-18_052.099_804_909_052, -8_612.730_527_464_804, 0.0),
    (-18_052.616_566_567_12, -8_614.369_591_746_927, 0.0),
    (-18_050.346_691_489_583, -8_614.678_873_577_011, 0.0),
    (0.0, 0.0, 0.0),
];

#[test]
fn case_1_small_bay_in_an_acute_corner() {
    expect(&CASE_1, 0.125, 1, 3.708_650, 1e-6);
}

#[test]
fn case_2_small_deep_bay() {
    expect(&CASE_2, 0.125, 1, 2.600_555, 1e-6);
}

#[test]
fn case_3_small_round_nose_inside() {
    expect(&CASE_3, -0.125, 1, 26.701_571, 1e-6);
}

#[test]
fn case_4_almost_tangent_joints() {
    expect(&CASE_4, 0.125, 1, 18.191_698, 1e-6);
}

#[test]
fn case_5_round_nose_outside() {
    expect(&CASE_5, 0.125, 1, 0.962_093, 1e-6);
}

#[test]
fn case_6_round_nose_inside() {
    expect(&CASE_6, -0.125, 1, 20.846_973, 1e-6);
}

#[test]
fn case_7_far_from_the_origin() {
    // Convex but for a turn of a few microradians: area by Steiner, from the shape's own measures.
    let shape = Polyline::closed(CASE_7);
    let area = shape.area().abs() + 0.125 * shape.length() + PI * 0.125 * 0.125;
    expect(&CASE_7, 0.125, 1, area, 1e-3);
}

#[test]
fn case_8_radius_a_nanometre_from_the_offset() {
    for radius in [0.125 + 1e-9, 0.125, 0.125 - 1e-9, 0.125 + 1e-6] {
        let inner = (30.0 - 0.25) * (20.0 - 0.25) - (4.0 - PI) * f64::max(radius - 0.125, 0.0).powi(2);
        // The library takes places a nanometre apart for one: 100 mm of path times a nanometre.
        expect(&rounded_rectangle(30.0, 20.0, radius), -0.125, 1, inner, 1e-7);
    }
    // A micrometre below: the corner is sharp, the same rectangle.
    expect(
        &rounded_rectangle(30.0, 20.0, 0.125 - 1e-6),
        -0.125,
        1,
        29.75 * 19.75,
        1e-9,
    );
}

#[test]
fn case_8_vertices_a_nanometre_apart() {
    let corners = rounded_rectangle(30.0, 20.0, 0.125);
    let crumbs: Vec<_> = corners
        .iter()
        .flat_map(|&(x, y, bulge)| {
            // Each corner twice, the first time a nanometre to the left of the direction in which the edge leaves.
            if bulge == 0.0 {
                vec![(x - 1e-9, y, 0.0), (x, y, 0.0)]
            } else {
                vec![(x, y, bulge)]
            }
        })
        .collect();
    let shape = Polyline::closed(corners);
    let area = shape.area() + 0.125 * shape.length() + PI * 0.125 * 0.125;
    expect(&crumbs, 0.125, 1, area, 1e-6);
}

#[test]
fn case_9_tangent_holes_are_each_offset_alone() {
    // A plate 30 × 30 with two round holes and a square one, the walls between them 0.1. Walls measured inwards
    // by 0.05 just touch; contour by contour nothing merges, and the sum is the area left.
    let circle = |x: f64| [(x + 3.0, 10.0, 1.0), (x - 3.0, 10.0, 1.0)];
    let hole = [
        (5.0, 20.0, 0.0),
        (25.0, 20.0, 0.0),
        (25.0, 29.9, 0.0),
        (5.0, 29.9, 0.0),
    ];
    let area = |shape: &[(f64, f64, f64)], offset_mm: f64| {
        let found = offset(&Polyline::closed(shape.iter().copied()), offset_mm).expect("verified");
        found.loops.iter().map(Polyline::area).sum::<f64>().abs()
    };
    for x in [10.0, 16.1] {
        expect(&circle(x), 0.05, 1, PI * 3.05 * 3.05, 1e-9);
        expect(&circle(x), -0.05, 1, PI * 2.95 * 2.95, 1e-9);
    }
    expect(&rectangle(30.0, 30.0), -0.05, 1, 29.9 * 29.9, 1e-9);
    expect(&hole, 0.05, 1, 20.0 * 9.9 + 59.8 * 0.05 + PI * 0.05 * 0.05, 1e-9);
    let left = area(&rectangle(30.0, 30.0), -0.05)
        - area(&circle(10.0), 0.05)
        - area(&circle(16.1), 0.05)
        - area(&hole, 0.05);
    assert!((left - 634.56).abs() < 0.005, "{left}");
}

#[test]
fn case_10_touching_itself() {
    let notched = [
        (0.0, 0.0, 0.0),
        (10.0, 0.0, 0.0),
        (10.0, 10.0, 0.0),
        (5.0, 0.0, 0.0),
        (0.0, 10.0, 0.0),
    ];
    // Two right-angled triangles that meet in a point, each grown (Steiner); what both cover is, on either side
    // of the middle, a sector of the roll round the common point and a triangle of legs d and 2d.
    let d = 0.125f64;
    let triangle = 25.0 + (15.0 + 125f64.sqrt()) * d + PI * d * d;
    let common = d * d + 0.5 * d * d * (PI / 2.0 + 0.5f64.atan());
    // Nine digits of a vertex are worth half of 1e-9 mm times the lengths of its two sides.
    expect(&notched, d, 1, 2.0 * (triangle - common), 1e-8);
    // Inside, each triangle has its own loop: shrunk by d, similar, with the inradius less d.
    let inradius = (5.0 + 10.0 - 125f64.sqrt()) / 2.0;
    expect(&notched, -d, 2, 50.0 * ((inradius - d) / inradius).powi(2), 1e-8);
}

#[test]
fn case_11_neck_of_exactly_two_offsets() {
    // Two rooms 4 × 4 joined by a passage 2 long and w wide. With w = 2d the wire just fits: it runs nearer to the walls
    // everywhere by 0.0125 µm, and enters.
    let rooms = |w: f64| {
        let (low, high) = (2.0 - w / 2.0, 2.0 + w / 2.0);
        [
            (0.0, 0.0, 0.0),
            (4.0, 0.0, 0.0),
            (4.0, low, 0.0),
            (6.0, low, 0.0),
            (6.0, 0.0, 0.0),
            (10.0, 0.0, 0.0),
            (10.0, 4.0, 0.0),
            (6.0, 4.0, 0.0),
            (6.0, high, 0.0),
            (4.0, high, 0.0),
            (4.0, 4.0, 0.0),
            (0.0, 4.0, 0.0),
        ]
    };
    let d = 0.125f64;
    // Of each mouth corner the path keeps away by a quarter roll, the rest of the passage's side is a strip.
    let area = |w: f64, d: f64| {
        let mouth = (2.0 + 2.0 * d) * (w - 2.0 * d) + 4.0 * (1.0 - PI / 4.0) * d * d;
        2.0 * (4.0 - 2.0 * d).powi(2) + mouth
    };
    expect(&rooms(0.25 + 1e-3), -d, 1, area(0.25 + 1e-3, d), 1e-9);
    let found = offset(&Polyline::closed(rooms(0.25)), -d).expect("verified");
    assert_eq!(found.loops.len(), 1);
    assert!((-found.loops[0].area() - area(0.25, d - 1.25e-5)).abs() < 1e-9);
    assert!((found.verified_mm - 1.25e-5).abs() < 1e-9);
    let closed = offset(&Polyline::closed(rooms(0.25 - 1e-3)), -d).expect("verified");
    assert_eq!(closed.loops.len(), 2);
}

#[test]
fn case_12_rectangle_grown_by_steiner() {
    expect(&rectangle(40.0, 20.0), 0.125, 1, 815.049_087_4, 1e-7);
    for d in [0.197, 0.152, 0.137, 0.130] {
        expect_length(&rectangle(40.0, 20.0), d, 120.0 + 2.0 * PI * d);
        expect(&rectangle(40.0, 20.0), d, 1, 800.0 + 120.0 * d + PI * d * d, 1e-9);
        expect_length(&rectangle(40.0, 20.0), -d, 120.0 - 8.0 * d);
        expect(
            &rectangle(40.0, 20.0),
            -d,
            1,
            (40.0 - 2.0 * d) * (20.0 - 2.0 * d),
            1e-9,
        );
    }
}

#[test]
fn circle_and_stadium_in_closed_form() {
    let circle = [(17.0, -3.0, 1.0), (7.0, -3.0, 1.0)];
    // Two half circles of radius 3 and two straights of 10.
    let stadium = [
        (0.0, 0.0, 0.0),
        (10.0, 0.0, 1.0),
        (10.0, 6.0, 0.0),
        (0.0, 6.0, 1.0),
    ];
    for d in [0.197, 0.152, 0.137, 0.130, -0.197, -0.152, -0.137, -0.130, -2.9] {
        let (big, end) = (5.0 + d, 3.0 + d);
        expect_length(&circle, d, 2.0 * PI * big);
        expect(&circle, d, 1, PI * big * big, 1e-9);
        expect_length(&stadium, d, 20.0 + 2.0 * PI * end);
        expect(&stadium, d, 1, 20.0 * end + PI * end * end, 1e-9);
    }
}

#[test]
fn no_room_is_no_loop() {
    expect(&rectangle(40.0, 0.249), -0.125, 0, 0.0, 1e-12);
    expect(&rectangle(40.0, 0.251), -0.125, 1, 39.75 * 0.001, 1e-9);
    expect(&[(0.12, 0.0, 1.0), (-0.12, 0.0, 1.0)], -0.125, 0, 0.0, 1e-12);
}

#[test]
fn what_cannot_be_offset_is_refused_with_its_reason() {
    let refused = |shape: &Polyline, d: f64| offset(shape, d).expect_err("refused").reason;
    let square = Polyline::closed(rectangle(1.0, 1.0));
    let open = Polyline {
        closed: false,
        ..square.clone()
    };
    assert_eq!(refused(&open, 0.1), RefusalReason::NoLoop);
    assert_eq!(
        refused(
            &Polyline::closed([(0.0, 0.0, 0.0), (1.0, f64::NAN, 0.0), (1.0, 1.0, 0.0)]),
            0.1
        ),
        RefusalReason::NotFinite
    );
    assert_eq!(
        refused(
            &Polyline::closed([(0.0, 0.0, 0.0), (1.0, 1.0, 0.0), (2.0, 2.0, 0.0)]),
            0.1
        ),
        RefusalReason::NoArea
    );
    assert_eq!(refused(&Polyline::default(), 0.1), RefusalReason::NoLoop);
    assert_eq!(refused(&Polyline::closed([]), 0.1), RefusalReason::NoArea);
    for d in [0.0, f64::NAN, 1e-5] {
        match refused(&square, d) {
            RefusalReason::OffsetTooSmall { offset_mm } => assert_eq!(offset_mm.to_bits(), d.to_bits()),
            other => panic!("{d}: {other:?}"),
        }
    }
    assert!(offset(&square, f64::INFINITY).is_err());
    // A figure of eight has no inside that a wire could keep to.
    let eight = Polyline::closed([(0.0, 0.0, 0.0), (4.0, 4.0, 0.0), (4.0, 0.0, 0.0), (0.0, 3.0, 0.0)]);
    assert_eq!(refused(&eight, 0.1), RefusalReason::CrossesItself);
}

/// A wave of arcs and chords far from the origin, at coordinates that are no whole numbers of anything.
#[test]
fn paths_are_verified_with_the_digits_that_are_written() {
    let wave = Polyline::closed((0..90).map(|i| {
        let angle = TAU * f64::from(i) / 90.0;
        let radius = 7.0 + 0.3 * (9.0 * angle).sin();
        (
            1_234.567_890_123_4 + radius * angle.cos(),
            radius * angle.sin() / 3.0,
            if i % 3 == 0 { 0.01 } else { 0.0 },
        )
    }));
    for offset_mm in [0.130, -0.130] {
        for path in offset(&wave, offset_mm).expect("verified").loops {
            for v in &path.vertices {
                for (value, steps) in [(v.at.x, 1e9), (v.at.y, 1e9), (v.bulge, 1e12)] {
                    assert_eq!(value, (value * steps).round() / steps);
                    let digits = if steps == 1e9 { 9 } else { 12 };
                    assert_eq!(format!("{value:.digits$}").parse(), Ok(value));
                }
            }
            // Against the drawn contour, by samples.
            for p in path.segments().flat_map(|s| [0.0, 0.5, 1.0].map(|t| s.at(t))) {
                let away = wave
                    .segments()
                    .map(|s| s.distance(p))
                    .fold(f64::INFINITY, f64::min);
                assert!((away - offset_mm.abs()).abs() < 3e-9, "{away}");
            }
        }
    }
}

/// A circle in chords, as a drawing rounds them, and the wire nearly as large: there is room for it up to the inradius r·cos(π/n), and
/// what is left to run is shorter a chord than any place that is looked at by itself.
#[test]
fn round_openings_of_short_chords_are_entered_up_to_their_inradius() {
    for (n, decimals) in [(24, 12), (220, 6), (904, 12)] {
        let rounded = |value: f64| (value * 10_f64.powi(decimals)).round() / 10_f64.powi(decimals);
        let at = |i: u32| {
            let (sin, cos) = (TAU * f64::from(i) / f64::from(n)).sin_cos();
            (rounded(0.1 * cos), rounded(0.1 * sin), 0.0)
        };
        let opening = Polyline::closed((0..n).map(at));
        let inradius = 0.1 * (PI / f64::from(n)).cos();
        for (less_mm, loops) in [(0.001, 1), (-3e-4, 0), (-0.05, 0)] {
            let found = offset(&opening, less_mm - inradius).expect("verified");
            assert_eq!(
                found.loops.len(),
                loops,
                "{n} chords, {less_mm} mm less than the inradius"
            );
        }
        if n < 904 {
            let (_, radius_mm) = Offsets::of(&opening).expect("a loop").roomiest();
            assert!(
                (radius_mm - inradius).abs() < 1e-5,
                "{n} chords: {radius_mm}, not {inradius}"
            );
        }
    }
}
