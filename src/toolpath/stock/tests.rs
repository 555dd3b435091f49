//! Stock that skims meet, for four passes of a 0.25 mm wire at 197, 152, 137 and 130 µm (geometry; no source needed).

use std::f64::consts::PI;

use super::{Before, Tally, Walked, WallPiece, full_slot, inside_corners, summed, walls};
use crate::geometry::{Point, Polyline, Segment, Vector};
use crate::id::PassNo;
use crate::pass::{Pass, PassKind};
use crate::toolpath::{Offset, offset};
use crate::units::Band;

/// Offsets, spark gaps and stock of the four passes, mm.
fn passes() -> Vec<Pass> {
    [
        (0.197, 0.040, 0.032),
        (0.152, 0.015, 0.012),
        (0.137, 0.008, 0.004),
        (0.130, 0.005, 0.0),
    ]
    .into_iter()
    .enumerate()
    .map(|(i, (offset_mm, spark_gap_mm, stock_mm))| Pass {
        pass: PassNo::from_index(i),
        kind: if i == 0 { PassKind::Rough } else { PassKind::Skim },
        offset_mm,
        half_kerf_mm: 0.125 + spark_gap_mm,
        spark_gap_mm,
        stock_mm,
        area_rate_mm2_min: Band::exact(100.0),
        feed_mm_min: Band::exact(1.0),
        ra_um: Band::exact(1.0),
        form_error_um: Band::exact(1.0),
    })
    .collect()
}

/// A square opening with corners of this radius (0: sharp); its lower left corner points at the origin.
fn opening(radius: f64) -> Polyline {
    let (q, r, w) = ((PI / 8.0).tan(), radius, 10.0);
    if r == 0.0 {
        return Polyline::closed([(0.0, 0.0, 0.0), (w, 0.0, 0.0), (w, w, 0.0), (0.0, w, 0.0)]);
    }
    Polyline::closed([
        (r, 0.0, 0.0),
        (w - r, 0.0, q),
        (w, r, 0.0),
        (w, w - r, q),
        (w - r, w, 0.0),
        (r, w, q),
        (0.0, w - r, 0.0),
        (0.0, r, q),
    ])
}

fn paths(contour: &Polyline) -> Vec<Offset> {
    passes()
        .iter()
        .map(|pass| offset(contour, -pass.offset_mm).expect("verified"))
        .collect()
}

/// Distance from the origin, where both sides of the corner would meet, to the wall after each pass, µm.
fn wall_from_apex(contour: &Polyline) -> Vec<f64> {
    paths(contour)
        .iter()
        .zip(passes())
        .map(|(path, pass)| {
            let apex = Point::default();
            walls(&path.loops, pass.half_kerf_mm)
                .iter()
                .map(|s| s.distance(apex))
                .fold(f64::INFINITY, f64::min)
                * 1000.0
        })
        .collect()
}

/// Most stock met by each skim, µm, and its places.
fn met(contour: &Polyline) -> Vec<(f64, usize)> {
    let (paths, passes) = (paths(contour), passes());
    (1..passes.len())
        .map(|k| {
            let before = Before::new(&passes[k - 1], &paths[k - 1].loops, &passes[k], 0.0);
            let (along, excess) = before
                .met_along(&paths[k].loops[0], passes[k].half_kerf_mm)
                .expect("a path before");
            let most = along.iter().filter_map(|e| e.stock_mm).fold(0.0, f64::max) * 1000.0;
            (most, excess.len())
        })
        .collect()
}

fn assert_um(got: &[f64], expected: &[f64]) {
    assert_eq!(got.len(), expected.len());
    for (g, e) in got.iter().zip(expected) {
        assert!((g - e).abs() < 0.05, "{got:?}, not {expected:?}");
    }
}

#[test]
fn an_inside_radius_of_160_um_after_each_pass() {
    // After skim 2 the wall stands 4 µm off the finished one.
    assert_um(&wall_from_apex(&opening(0.160)), &[113.6, 78.3, 70.3, 66.3]);
}

#[test]
fn a_sharp_corner_after_each_pass() {
    assert_um(&wall_from_apex(&opening(0.0)), &[113.6, 75.0, 60.7, 53.8]);
}

#[test]
fn the_first_skim_meets_what_the_rough_could_not_follow() {
    let found = met(&opening(0.160));
    // 113.6 − 78.3 where 20 is meant; the later skims follow one another: 8 and 4.
    assert_um(&found.iter().map(|f| f.0).collect::<Vec<_>>(), &[35.3, 8.0, 4.0]);
    assert_eq!(found.iter().map(|f| f.1).collect::<Vec<_>>(), [4, 0, 0]);
    let sharp = met(&opening(0.0));
    assert_um(&sharp.iter().map(|f| f.0).collect::<Vec<_>>(), &[38.6, 14.2, 6.9]);
    assert_eq!(sharp.iter().map(|f| f.1).collect::<Vec<_>>(), [4, 4, 4]);
}

#[test]
fn engagement_on_a_round_wall() {
    let passes = passes();
    for (radius, signed) in [(5.0, -1.0), (5.0, 1.0), (0.5, -1.0)] {
        let circle = Polyline::circle(Point::new(3.0, 1.0), radius);
        let path = |k: usize| {
            offset(&circle, signed * passes[k].offset_mm)
                .expect("verified")
                .loops
        };
        for k in 1..passes.len() {
            let before = Before::new(&passes[k - 1], &path(k - 1), &passes[k], 0.0);
            let (along, excess) = before
                .met_along(&path(k)[0], passes[k].half_kerf_mm)
                .expect("a path before");
            assert!(excess.is_empty());
            // R/(R − ρ) inside and R/(R + ρ) outside, R the wall that the pass leaves.
            let wall = radius + signed * passes[k].stock_mm;
            let expected = wall / (radius + signed * passes[k].offset_mm);
            for e in along {
                assert!((e.factor - expected).abs() < 1e-9, "{} not {expected}", e.factor);
            }
        }
    }
}

#[test]
fn a_straight_wall_is_engaged_as_meant_but_for_its_corners() {
    let passes = passes();
    let found = paths(&opening(0.0));
    let before = Before::new(&passes[0], &found[0].loops, &passes[1], 0.0);
    let (along, _) = before
        .met_along(&found[1].loops[0], passes[1].half_kerf_mm)
        .expect("a path before");
    let removed: f64 = along
        .iter()
        .zip(found[1].loops[0].segments())
        .map(|(e, s)| e.factor * s.length())
        .sum::<f64>()
        * 0.020;
    let square = |k: usize| {
        let side = 10.0 - 2.0 * passes[k].stock_mm;
        side * side - (4.0 - PI) * passes[k].half_kerf_mm.powi(2)
    };
    // Between the squares that both passes leave, corners rounded by their reach. Stock along the wall is the area
    // only as long as it is thin against the radius: in the corners it is not, which makes half a per cent here.
    let exact = square(1) - square(0);
    assert!((removed - exact).abs() < 5e-3 * exact, "{removed}, not {exact}");
}

/// What pairs of a wall and a segment of the path before settle is what asking for the nearest of all segments says.
#[test]
fn pairs_say_what_the_nearest_of_all_says() {
    let waves = |n: i32, bulge: f64| {
        Polyline::closed((0..n).map(|i| {
            let angle = f64::from(i) / f64::from(n) * 2.0 * PI;
            let radius = 3.0 + 0.4 * (5.0 * angle).sin();
            let bulge = if i % 7 == 0 { bulge } else { 0.0 };
            (radius * angle.cos(), radius * angle.sin(), bulge)
        }))
    };
    let comb = Polyline::closed([
        (0.0, 0.0, 0.0),
        (6.0, 0.0, 0.0),
        (6.0, 3.0, 0.0),
        (5.0, 3.0, 0.0),
        (5.0, 1.0, 0.0),
        (4.0, 1.0, 0.0),
        (4.0, 3.0, 0.0),
        (0.0, 3.0, 0.0),
    ]);
    let shapes = [
        waves(300, 0.0),
        waves(700, 0.002),
        waves(40, 0.2),
        comb,
        opening(0.160),
        opening(0.0),
        opening(1.0),
    ];
    let passes = passes();
    let mut settled = 0;
    for (contour, side) in shapes
        .iter()
        .flat_map(|contour| [(contour, 1.0), (contour, -1.0)])
    {
        let found: Vec<Offset> = passes
            .iter()
            .map(|pass| offset(contour, side * pass.offset_mm).expect("verified"))
            .collect();
        for k in 1..passes.len() {
            let verified_mm = found[k].verified_mm + found[k - 1].verified_mm;
            let paired = Before::new(&passes[k - 1], &found[k - 1].loops, &passes[k], verified_mm);
            let asked = Before {
                pairs: false,
                ..Before::new(&passes[k - 1], &found[k - 1].loops, &passes[k], verified_mm)
            };
            let (path, half_kerf_mm) = (&found[k].loops[0], passes[k].half_kerf_mm);
            let (one, places) = paired.met_along(path, half_kerf_mm).expect("a path before");
            let (other, all_places) = asked.met_along(path, half_kerf_mm).expect("a path before");
            assert_eq!(places.len(), all_places.len());
            for (place, other) in places.iter().zip(&all_places) {
                assert!((place.met_mm - other.met_mm).abs() < 1e-9 && place.at.distance(other.at) < 1e-6);
            }
            let meant_mm = paired.meant_mm;
            for ((one, other), segment) in one.iter().zip(&other).zip(path.segments()) {
                // What a corner shares out weighs more in a short segment.
                let slack = 3e-4 * (1.0 + 0.3 / segment.length());
                assert!(
                    (one.factor - other.factor).abs() < slack,
                    "{one:?} {other:?} {segment:?}"
                );
                let (most, other) = (one.stock_mm.expect("a skim"), other.stock_mm.expect("a skim"));
                assert!((most - other).abs() < 1e-3 * meant_mm, "{most} {other}");
                settled += usize::from(most == meant_mm);
            }
        }
    }
    assert!(settled > 5_000, "{settled} segments settled by pairs");
}

/// How far paths of these tests may lie from their offset.
const VERIFIED_MM: f64 = 1e-6;

/// A regular polygon of `n` corners round the origin.
fn polygon(n: u32, radius: f64) -> Polyline {
    Polyline::closed((0..n).map(|i| {
        let p = Vector::unit(2.0 * PI * f64::from(i) / f64::from(n)) * radius;
        (p.x, p.y, 0.0)
    }))
}

/// The stock along a path is what lies between its wall and the wall of the pass before: summed over thousands of places of each piece of wall,
/// by the distance to every segment of the path before, it is the same, and so is the most of it.
#[test]
fn stock_is_the_sum_of_what_is_met_at_every_place() {
    let passes = passes();
    let star = Polyline::closed((0..10).map(|i| {
        let p = Vector::unit(PI * f64::from(i) / 5.0) * if i % 2 == 0 { 8.0 } else { 3.0 };
        (p.x, p.y, 0.0)
    }));
    // The last is all chords of 6 µm, of which some are summed at once.
    let shapes = [
        opening(0.0),
        opening(0.160),
        polygon(3, 4.0),
        star,
        polygon(300, 0.3),
    ];
    for (number, contour) in shapes.iter().enumerate() {
        for signed in [-1.0, 1.0] {
            let path = |k: usize| {
                offset(contour, signed * passes[k].offset_mm)
                    .expect("verified")
                    .loops
            };
            for k in 1..passes.len() {
                let (before, loops) = (path(k - 1), path(k));
                let skim = &passes[k];
                let (along, excess) = Before::new(&passes[k - 1], &before, skim, VERIFIED_MM)
                    .met_along(&loops[0], skim.half_kerf_mm)
                    .expect("a path before");
                let meant_mm = passes[k - 1].stock_mm - skim.stock_mm;
                let segments = || loops[0].segments();
                let summed: f64 = along
                    .iter()
                    .zip(segments())
                    .map(|(e, s)| e.factor * meant_mm * s.length())
                    .sum();
                let old: Vec<_> = before.iter().flat_map(Polyline::segments).collect();
                let met = |p: Point| {
                    let away = old.iter().map(|s| s.distance(p)).fold(f64::INFINITY, f64::min);
                    (away - passes[k - 1].half_kerf_mm).max(0.0)
                };
                let pieces = walls(&loops, skim.half_kerf_mm);
                // Places are densest at both ends of a piece, where corners are.
                let places = 1 + 2000 / pieces.len();
                let (mut by_hand, mut most) = (0.0, 0.0_f64);
                for piece in &pieces {
                    let end = |i: usize| 0.5 - 0.5 * (PI * i as f64 / places as f64).cos();
                    for i in 0..places {
                        let here = met(piece.at(0.5 * (end(i) + end(i + 1))));
                        by_hand += here * piece.length() * (end(i + 1) - end(i));
                        most = most.max(here).max(met(piece.at(end(i))));
                    }
                }
                let place = format!("shape {number}, side {signed}, pass {}", k + 1);
                assert!(
                    (summed / by_hand - 1.0).abs() < 1e-3,
                    "{place}: {summed}, not {by_hand}"
                );
                let found = along.iter().filter_map(|e| e.stock_mm).fold(0.0, f64::max);
                assert!((found - most).abs() < 1e-5, "{place}: {found}, not {most}");
                // What is worth keeping is a twentieth above what is meant, and the most of it is kept.
                let kept = excess.iter().map(|e| e.met_mm).fold(0.0, f64::max);
                if most > 1.05 * meant_mm + 2e-4 {
                    assert!((kept - found).abs() < 1e-12, "{place}: {kept}, not {found}");
                    assert!(
                        excess.iter().all(|e| (e.met_mm - met(e.at)).abs() < 1e-9),
                        "{place}"
                    );
                } else if most < 1.05 * meant_mm {
                    assert!(excess.is_empty(), "{place}");
                }
            }
        }
    }
}

/// Nothing can be said of a skim where the pass before has no path, or nothing is meant to be taken.
#[test]
fn without_a_path_before_nothing_is_said() {
    let passes = passes();
    let path = offset(&opening(0.0), -0.152).expect("verified").loops;
    let met = |before: &Pass, loops: &[Polyline], skim: &Pass| {
        Before::new(before, loops, skim, VERIFIED_MM)
            .met_along(&path[0], 0.140)
            .is_some()
    };
    assert!(met(&passes[0], &path, &passes[1]));
    assert!(!met(&passes[0], &[], &passes[1]));
    assert!(!met(&passes[1], &path, &passes[1]));
}

/// The first skim after a rough path round a square whose upper right corner is the origin. 20 µm are meant.
fn beside_a_corner() -> Before {
    let square = Polyline::closed([
        (0.0, 0.0, 0.0),
        (-9.0, 0.0, 0.0),
        (-9.0, -9.0, 0.0),
        (0.0, -9.0, 0.0),
    ]);
    Before::new(&passes()[0], &[square.reversed()], &passes()[1], VERIFIED_MM)
}

/// The integral of what is met on the level line at `y` from `0` to `x`, beyond that corner: √(x² + y²) less half the kerf.
fn met_beyond_the_corner(x: f64, y: f64) -> f64 {
    0.5 * (x * x.hypot(y) + y * y * (x / y).asinh()) - 0.165 * x
}

fn level(from: f64, to: f64, y: f64) -> Segment {
    Segment::line(Point::new(from, y), Point::new(to, y))
}

fn met_at(before: &Before, segment: Segment) -> [f64; 3] {
    [0.0, 0.5, 1.0].map(|t| before.met(segment.at(t), &mut Walked::default()))
}

#[test]
fn stock_along_a_wall_is_its_integral() {
    let before = beside_a_corner();
    let enough = |length: f64| 1e-4 * 0.020 * length;
    for (to, y) in [(1.0, 0.18), (0.25, 0.17), (0.02, 0.18), (3.0, 0.5)] {
        let wall = level(0.0, to, y);
        let found = before.area_met(wall, met_at(&before, wall), &mut Walked::default());
        let exact = met_beyond_the_corner(to, y);
        assert!((found - exact).abs() < 2.0 * enough(to), "{found}, not {exact}");
    }
    // A wall that rises out of the kerf a quarter of the way: a triangle, however short it is.
    for length in [0.0195, 1.0] {
        let (up, from, to) = (0.3, Point::new(-5.0, 0.165), Point::new(-5.0 + length, 0.165));
        let shift = Vector::new(0.0, up * length / 4.0);
        let wall = Segment::line(from - shift, to + shift * 3.0);
        let found = before.area_met(wall, met_at(&before, wall), &mut Walked::default());
        let exact = 0.5 * (0.75 * wall.length()) * (0.75 * up * length);
        assert!(
            (found - exact).abs() < 4.0 * enough(length),
            "{found}, not {exact}"
        );
    }
    // Equal at the start, the middle and the end, and more between.
    let teeth = Polyline::closed([
        (0.0, 0.0, 0.0),
        (0.0625, -0.05, 0.0),
        (0.125, 0.0, 0.0),
        (0.1875, -0.05, 0.0),
        (0.25, 0.0, 0.0),
        (0.25, -3.0, 0.0),
        (0.0, -3.0, 0.0),
    ]);
    let before = Before::new(&passes()[0], &[teeth], &passes()[1], VERIFIED_MM);
    let wall = level(0.0, 0.25, 0.18);
    let found = before.area_met(wall, met_at(&before, wall), &mut Walked::default());
    // Beyond each of three tips, up to half-way to the next.
    let exact = 4.0 * met_beyond_the_corner(0.0625, 0.18);
    assert!((found - exact).abs() < 4.0 * enough(0.25), "{found}, not {exact}");
    assert_eq!(summed(6.0, [1.0, 4.0, 9.0]), (26.0, 30.0));
}

#[test]
fn short_pieces_are_summed_together_as_one_and_shared_by_their_lengths() {
    let before = beside_a_corner();
    let piece = |from: f64, to: f64, of: usize| WallPiece {
        segment: level(from, to, 0.18),
        of,
        in_corner: false,
    };
    // Together no longer than an eighth of half the kerf, 20.6 µm, and joined.
    let ends = |i: usize| 0.006 * i as f64;
    let mut pieces: Vec<WallPiece> = (0..10).map(|i| piece(ends(i), ends(i + 1), i)).collect();
    let sizes = |pieces: &[WallPiece]| before.runs(pieces).map(<[_]>::len).collect::<Vec<_>>();
    assert_eq!(sizes(&pieces), [3, 3, 3, 1]);
    pieces.remove(4);
    assert_eq!(sizes(&pieces), [3, 1, 3, 2]);

    // On a wall that rises beside a side: 5 µm are met where it begins, and three tenths of the way more.
    let at = |x: f64| Point::new(x - 1.0, 0.170 + 0.3 * x);
    let rising = |from: f64, to: f64, of: usize| WallPiece {
        segment: Segment::line(at(from), at(to)),
        ..piece(0.0, 0.0, of)
    };
    let run = [
        rising(0.0, 0.002, 0),
        rising(0.002, 0.003, 1),
        rising(0.003, 0.016, 2),
    ];
    let (mut tally, mut walked) = (Tally::new(3), Walked::default());
    walked.end = Some((Point::new(7.0, 0.0), 9.0));
    assert!(before.met_by_run(&run, &mut walked, &mut tally));
    let exact = 0.016 * 1.0_f64.hypot(0.3) * (0.005 + 0.3 * 0.008);
    for (met, share) in tally.met_mm2.iter().zip([2.0, 1.0, 13.0]) {
        assert!((met - exact * share / 16.0).abs() < 1e-10);
    }
    let most = 0.005 + 0.3 * 0.016;
    assert!(tally.most_mm.iter().all(|met| (met - most).abs() < 1e-12));
    let longest_first = [
        rising(0.0, 0.013, 0),
        rising(0.013, 0.014, 1),
        rising(0.014, 0.016, 2),
    ];
    assert!(before.met_by_run(&longest_first, &mut Walked::default(), &mut Tally::new(3)));
    // The end is known to what follows, and nothing else is.
    let (end, met) = walked.end.expect("an end");
    assert!(end.distance(at(0.016)) < 1e-12 && (met - most).abs() < 1e-12);
    walked.end = Some((end, 0.5));
    let mut met_at_start = |from: f64| before.met_at_start(rising(from, 0.02, 0).segment, &mut walked);
    assert_eq!(met_at_start(0.016), 0.5);
    assert!((met_at_start(0.0) - 0.005).abs() < 1e-12);

    // Not where more than meant is met, nor where ends and middle do not agree, nor of no length, nor alone.
    let refused = |run: &[WallPiece]| !before.met_by_run(run, &mut Walked::default(), &mut Tally::new(9));
    assert!(refused(&[rising(0.1, 0.106, 0), rising(0.106, 0.116, 1)]));
    assert!(refused(&[rising(-0.02, -0.016, 0), rising(-0.016, -0.01, 1)]));
    assert!(refused(&[rising(0.0, 0.0, 0), rising(0.0, 0.0, 1)]));
    assert!(refused(&[rising(0.0, 0.002, 0)]));
}

#[test]
fn most_is_met_straight_away_from_a_corner() {
    let before = beside_a_corner();
    assert!(!before.is_worth_keeping(0.021_05) && before.is_worth_keeping(0.021_15));
    let wall = level(-1.0, -0.9, 0.18);
    for (met, most) in [
        ([0.03, 0.01, 0.02], (wall.from, 0.03)),
        ([0.01, 0.03, 0.02], (wall.at(0.5), 0.03)),
        ([0.01, 0.02, 0.03], (wall.to, 0.03)),
    ] {
        assert_eq!(before.most_met(wall, met, &mut Walked::default()), most);
    }
    // Round a centre above the corner a quarter of a circle, of which the corner is farthest from a place at 60° from its start.
    let (center, radius) = (Point::new(0.03, 0.05), 0.16);
    let away = (center - Point::default()).angle();
    let at = |angle: f64| center + Vector::unit(away + angle) * radius;
    let arc = Segment::arc(at(-PI / 3.0), at(PI / 6.0), (PI / 8.0).tan());
    let (place, met) = before.most_met(arc, met_at(&before, arc), &mut Walked::default());
    assert!(place.distance(at(0.0)) < 1e-9);
    assert!((met - (0.03_f64.hypot(0.05) + radius - 0.165)).abs() < 1e-12);
}

#[test]
fn what_is_met_in_a_corner_is_shared_by_both_sides() {
    let mut tally = Tally::new(3);
    for (of, in_corner) in [(0, true), (2, true), (1, false)] {
        let segment = level(0.0, 1.0, 0.0);
        tally.add(
            &WallPiece {
                segment,
                of,
                in_corner,
            },
            4.0,
            of as f64,
        );
    }
    assert_eq!(tally.met_mm2, [4.0, 6.0, 2.0]);
    assert_eq!(tally.most_mm, [2.0, 1.0, 2.0]);
    // A square with one point more on a side, and one given twice.
    let square = Polyline::closed([
        (0.0, 0.0, 0.0),
        (0.0, 9.0, 0.0),
        (4.0, 9.0, 0.0),
        (4.0, 9.0, 0.0),
        (9.0, 9.0, 0.0),
        (9.0, 0.0, 0.0),
    ]);
    assert_eq!(inside_corners(&square).count(), 4);
    assert!(full_slot(&square).iter().map(|e| e.factor).eq([1.0; 6]));
    let before = Before::new(
        &passes()[0],
        &[opening(0.0).reversed()],
        &passes()[1],
        VERIFIED_MM,
    );
    let (along, _) = before.met_along(&square, 0.140).expect("a path before");
    assert_eq!(along[2].factor, 1.0);
}
