//! What must hold for the path of any contour: random loops of lines and arcs. `PROPTEST_CASES` sets how many
//! (500 unless said).

use std::f64::consts::{PI, TAU};

use kerfwright::geometry::{Bounds, Point, Polyline, Segment, SegmentIndex, Vector, Vertex};
use kerfwright::toolpath::offset;
use proptest::prelude::*;

use crate::random::{config, loops, offsets};

/// Contract of the paths, mm.
const PATH_MM: f64 = 1e-4;

fn measures(loops: &[Polyline]) -> (usize, f64, f64, Bounds) {
    let area = loops.iter().map(Polyline::area).sum();
    let length = loops.iter().map(Polyline::length).sum();
    let bounds = loops
        .iter()
        .map(Polyline::bounds)
        .fold(Bounds::EMPTY, Bounds::union);
    (loops.len(), area, length, bounds)
}

fn mapped(outline: &Polyline, place: impl Fn(Point) -> Point, bulge_sign: f64) -> Polyline {
    let vertices = outline
        .vertices
        .iter()
        .map(|v| Vertex {
            at: place(v.at),
            bulge: v.bulge * bulge_sign,
        })
        .collect();
    Polyline {
        vertices,
        closed: true,
    }
}

/// Signed-distance samples: all points of a grid round the contour that lie at the offset within a band must
/// have path nearby, and every sampled path point must lie at the offset.
fn sampled(outline: &Polyline, offset_mm: f64, loops: &[Polyline]) -> Result<usize, TestCaseError> {
    let distance = offset_mm.abs();
    let contour: Vec<Segment> = outline.segments().collect();
    let to_contour = |p: Point| {
        contour
            .iter()
            .map(|s| s.distance(p))
            .fold(f64::INFINITY, f64::min)
    };
    for segment in loops.iter().flat_map(Polyline::segments) {
        for i in 0..8 {
            let p = segment.at(f64::from(i) / 8.0);
            prop_assert!((to_contour(p) - distance).abs() <= PATH_MM, "unsound at {p:?}");
        }
    }
    // Walk out square from the contour: the foot of a point at the offset is a point that the wire reaches.
    let path = SegmentIndex::of(loops);
    let mut reached = 0;
    for segment in &contour {
        for i in 0..8 {
            let t = (f64::from(i) + 0.5) / 8.0;
            let out = segment.direction(t).left() * -offset_mm;
            let p = segment.at(t) + out;
            if to_contour(p) >= distance - 1e-9 {
                // A second wall as near as that may close the place off within the accuracy.
                let room = p + (segment.at(t) - p) * -0.01;
                if to_contour(room) < distance + 0.005 * distance {
                    continue;
                }
                prop_assert!(path.nearest_within(p, PATH_MM).is_some(), "incomplete at {p:?}");
                reached += 1;
            }
        }
    }
    Ok(reached)
}

#[test]
fn every_path_is_sound_and_complete() {
    let mut runner = proptest::test_runner::TestRunner::new(config());
    let (reached, empty) = (std::cell::Cell::new(0usize), std::cell::Cell::new(0u32));
    runner
        .run(&(loops(), offsets()), |(outline, offset_mm)| {
            let found =
                offset(&outline, offset_mm).map_err(|refused| TestCaseError::fail(format!("{refused:?}")))?;
            prop_assert!(found.verified_mm <= PATH_MM);
            reached.set(reached.get() + sampled(&outline, offset_mm, &found.loops)?);
            empty.set(empty.get() + u32::from(found.loops.is_empty()));
            Ok(())
        })
        .unwrap_or_else(|failure| panic!("{failure}"));
    let cases = config().cases;
    assert!(
        reached.get() > 10 * cases as usize,
        "hardly a point was compared: {}",
        reached.get()
    );
    assert!(
        empty.get() < cases / 2,
        "most offsets had no room: {}",
        empty.get()
    );
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn where_it_lies_and_begins_makes_no_difference(
        outline in loops(),
        offset_mm in offsets(),
        angle in 0.0f64..TAU,
        by in (-1e4f64..1e4, -1e4f64..1e4),
        start in 0usize..14,
    ) {
        let (count, area, length, bounds) = measures(&offset(&outline, offset_mm).expect("verified").loops);
        let mut begun = outline.clone();
        begun.vertices.rotate_left(start % outline.vertices.len());
        let origin = Point::default();
        let turned = |p: Point| origin + (p - origin).turned(angle);
        for (name, other, same_bounds) in [
            ("other start", begun, true),
            ("reversed", outline.reversed(), true),
            ("moved", mapped(&outline, |p| p + Vector::new(by.0, by.1), 1.0), false),
            ("turned", mapped(&outline, turned, 1.0), false),
            ("mirrored", mapped(&outline, |p| Point::new(-p.x, p.y), -1.0), false),
        ] {
            let found = offset(&other, offset_mm).expect("verified").loops;
            let (c, a, l, b) = measures(&found);
            // A neck within the accuracy of twice the offset may be passed or not: then counts differ and the
            // lengths by the bridge, the areas never.
            prop_assert!((a - area).abs() < 2.0 * PATH_MM * length.max(1.0), "{name}: area {a}, not {area}");
            if c == count {
                prop_assert!((l - length).abs() < 1e-3 * length.max(1.0), "{name}: length {l}, not {length}");
            }
            if same_bounds {
                prop_assert!(b.is_empty() == bounds.is_empty());
                prop_assert!(b.is_empty() || (b.width() - bounds.width()).abs() < 2.0 * PATH_MM, "{name}");
            }
        }
    }

    #[test]
    fn a_convex_contour_obeys_steiner(corners in prop::collection::vec(0.2f64..1.0, 3..10), d in 0.01f64..2.0) {
        // Corners of a circle in order: convex. Perimeter L + 2πd, area A + Ld + πd² (J. Steiner, 1840).
        let total: f64 = corners.iter().sum();
        let mut turn = 0.0;
        let outline = Polyline::closed(corners.iter().map(|share| {
            turn += TAU * share / total;
            let p = Vector::unit(turn) * 7.0;
            (p.x, p.y, 0.0)
        }));
        let found = offset(&outline, d).expect("verified");
        prop_assert_eq!(found.loops.len(), 1);
        prop_assert!((found.loops[0].length() - outline.length() - TAU * d).abs() < 1e-6);
        let area = outline.area() + outline.length() * d + PI * d * d;
        prop_assert!((found.loops[0].area() - area).abs() < 1e-5);
    }

    #[test]
    fn opening_twice_is_opening_once(outline in loops(), d in 0.05f64..0.5) {
        // In by d and out again: what a disc of radius d reaches. Doing it again changes nothing.
        let open = |shape: &Polyline| -> Vec<Polyline> {
            let inner = offset(shape, -d).expect("verified in").loops;
            inner.iter().flat_map(|l| offset(l, d).expect("verified out").loops).collect()
        };
        let once = open(&outline);
        let twice: Vec<Polyline> = once.iter().flat_map(&open).collect();
        let area = |loops: &[Polyline]| loops.iter().map(|l| l.area().abs()).sum::<f64>();
        let length: f64 = once.iter().map(Polyline::length).sum();
        prop_assert!((area(&once) - area(&twice)).abs() <= 4.0 * PATH_MM * length);
        // Regions on both sides of a neck overlap in it once opened: only a single one is no larger than the shape.
        if once.len() == 1 {
            prop_assert!(area(&once) <= outline.area() + PATH_MM * outline.length());
        }
    }
}
