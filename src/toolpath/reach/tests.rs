//! Places that a path does not reach, against closed forms (plane geometry; no source needed).

use std::f64::consts::PI;

use super::{ContourWalk, PathCorner, UnreachedPlace, places};
use crate::geometry::{Point, Polyline, Segment, Vector, Vertex};
use crate::toolpath::UnreachedKind::{NarrowSlot, SharpCorner, SmallRadius};
use crate::toolpath::offset;

const OFFSET: f64 = 0.130;

/// The places left inside (negative offset) or outside a counter-clockwise loop.
fn left(shape: &Polyline, offset_mm: f64) -> Vec<UnreachedPlace> {
    let found = offset(shape, offset_mm).expect("verified");
    let walk = if offset_mm < 0.0 {
        shape.reversed()
    } else {
        shape.clone()
    };
    places(&walk, &found.loops, offset_mm.abs())
}

fn close(what: &str, got: f64, expected: f64) {
    assert!((got - expected).abs() < 1e-9, "{what}: {got}, not {expected}");
}

/// Area and deviation left in a sharp corner between straight walls at an angle.
fn corner(angle: f64) -> (f64, f64) {
    let half = 0.5 * angle;
    let area = OFFSET * OFFSET * (1.0 / half.tan() - (PI - angle) / 2.0);
    (area, OFFSET / half.sin() - OFFSET)
}

/// The same, begun at each vertex.
fn from_every_start(shape: &Polyline, check: impl Fn(&Polyline)) {
    let mut shape = shape.clone();
    for _ in 0..shape.vertices.len() {
        shape.vertices.rotate_left(1);
        check(&shape);
    }
}

#[test]
fn an_opening_keeps_its_sharp_corners() {
    let rectangle = Polyline::closed([
        (0.0, 0.0, 0.0),
        (40.0, 0.0, 0.0),
        (40.0, 20.0, 0.0),
        (0.0, 20.0, 0.0),
    ]);
    from_every_start(&rectangle, |shape| {
        let found = left(shape, -OFFSET);
        assert_eq!(found.len(), 4);
        close(
            "area",
            found.iter().map(|p| p.area_mm2).sum(),
            (4.0 - PI) * OFFSET * OFFSET,
        );
        for place in &found {
            close("deviation", place.deviation_mm, (2f64.sqrt() - 1.0) * OFFSET);
            assert_eq!(place.kind, SharpCorner);
            assert!(shape.vertices.iter().any(|v| v.at.distance(place.at) < 1e-9));
        }
        assert!(left(shape, OFFSET).is_empty(), "outside corners are reached");
    });
}

#[test]
fn opening_by_an_eighth_loses_what_the_textbook_says() {
    let rectangle = Polyline::closed([
        (0.0, 0.0, 0.0),
        (40.0, 0.0, 0.0),
        (40.0, 20.0, 0.0),
        (0.0, 20.0, 0.0),
    ]);
    let lost: f64 = left(&rectangle, -0.125).iter().map(|p| p.area_mm2).sum();
    assert!((lost - 0.013_412_6).abs() < 1e-7, "{lost}");
}

#[test]
fn regular_polygons_lose_the_same_in_every_corner() {
    for n in [3, 5, 6, 8, 12] {
        let polygon = Polyline::closed((0..n).map(|i| {
            let p = Vector::unit(2.0 * PI * f64::from(i) / f64::from(n)) * 5.0;
            (p.x + 7.0, p.y - 2.0, 0.0)
        }));
        let (area, deviation) = corner(PI - 2.0 * PI / f64::from(n));
        let found = left(&polygon, -OFFSET);
        assert_eq!(found.len(), n as usize);
        for place in found {
            close("area", place.area_mm2, area);
            close("deviation", place.deviation_mm, deviation);
            assert_eq!(place.kind, SharpCorner);
        }
    }
}

#[test]
fn a_star_keeps_its_points_inside_and_its_bays_outside() {
    let star = Polyline::closed((0..10).map(|i| {
        let p = Vector::unit(PI * f64::from(i) / 5.0) * if i % 2 == 0 { 8.0 } else { 3.0 };
        (p.x, p.y, 0.0)
    }));
    let angle_at = |i: usize| {
        let (before, at, after) = (
            star.vertices[i - 1].at,
            star.vertices[i].at,
            star.vertices[i + 1].at,
        );
        (before - at).turn_to(after - at).abs()
    };
    for (offset_mm, angle) in [(-OFFSET, angle_at(2)), (OFFSET, angle_at(1))] {
        let (area, deviation) = corner(angle);
        let found = left(&star, offset_mm);
        assert_eq!(found.len(), 5);
        for place in found {
            close("area", place.area_mm2, area);
            close("deviation", place.deviation_mm, deviation);
            assert_eq!(place.kind, SharpCorner);
        }
    }
}

fn rounded(radius: f64) -> Polyline {
    let (q, r, w, h) = ((PI / 8.0).tan(), radius, 10.0, 6.0);
    Polyline::closed([
        (r, 0.0, 0.0),
        (w - r, 0.0, q),
        (w, r, 0.0),
        (w, h - r, q),
        (w - r, h, 0.0),
        (r, h, q),
        (0.0, h - r, 0.0),
        (0.0, r, q),
    ])
}

#[test]
fn a_radius_a_micrometre_below_the_offset_is_seen() {
    let radius = OFFSET - 1e-3;
    from_every_start(&rounded(radius), |shape| {
        let found = left(shape, -OFFSET);
        assert_eq!(found.len(), 4);
        for place in found {
            close(
                "area",
                place.area_mm2,
                (1.0 - PI / 4.0) * (OFFSET * OFFSET - radius * radius),
            );
            close(
                "deviation",
                place.deviation_mm,
                (2f64.sqrt() - 1.0) * (OFFSET - radius),
            );
            assert_eq!(place.kind, SmallRadius);
        }
    });
    // The same, where each arc is drawn in two pieces of different length.
    let whole = rounded(radius);
    let split = whole
        .segments()
        .flat_map(|s| {
            let at = if s.is_arc() { 0.3 } else { 0.0 };
            [s.part(0.0, at), s.part(at, 1.0)]
        })
        .filter(|s| s.length() > 0.0)
        .map(|s| (s.from.x, s.from.y, s.bulge));
    for place in left(&Polyline::closed(split), -OFFSET) {
        close(
            "deviation",
            place.deviation_mm,
            (2f64.sqrt() - 1.0) * (OFFSET - radius),
        );
    }
    assert!(left(&rounded(OFFSET), -OFFSET).is_empty());
    assert!(left(&rounded(OFFSET + 1e-3), -OFFSET).is_empty());
}

#[test]
fn a_keyhole_keeps_its_narrow_slot() {
    let (half, radius, end) = (0.1f64, 2.0f64, 6.0);
    let mouth = (radius * radius - half * half).sqrt();
    let sweep = 2.0 * PI - 2.0 * (half / radius).asin();
    let keyhole = Polyline::closed([
        (mouth, half, (sweep / 4.0).tan()),
        (mouth, -half, 0.0),
        (end, -half, 0.0),
        (end, half, 0.0),
    ]);
    // The wire rolls round both edges of the mouth until they stop it.
    let depth = (OFFSET * OFFSET - half * half).sqrt();
    let reached = OFFSET * OFFSET * (half / OFFSET).asin() - half * depth;
    from_every_start(&keyhole, |shape| {
        let found = left(shape, -OFFSET);
        assert_eq!(found.len(), 1);
        close("area", found[0].area_mm2, 2.0 * half * (end - mouth) - reached);
        close(
            "deviation",
            found[0].deviation_mm,
            (end - mouth + depth).hypot(half) - OFFSET,
        );
        assert_eq!(found[0].kind, NarrowSlot);
        assert!(found[0].necks.is_empty());
    });
}

/// Two rooms 4 × 4 with a passage 2 long and `width` wide.
fn rooms(width: f64) -> Polyline {
    let (low, high) = (2.0 - width / 2.0, 2.0 + width / 2.0);
    Polyline::closed([
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
    ])
}

#[test]
fn a_neck_between_two_rooms_is_one_place() {
    let width = 0.2;
    let half = width / 2.0;
    let depth = (OFFSET * OFFSET - half * half).sqrt();
    let reached = OFFSET * OFFSET * (half / OFFSET).asin() - half * depth;
    from_every_start(&rooms(width), |shape| {
        let found = left(shape, -OFFSET);
        let (corners, necks): (Vec<_>, Vec<_>) = found.iter().partition(|p| p.kind == SharpCorner);
        assert_eq!((corners.len(), necks.len()), (8, 1));
        close("area", necks[0].area_mm2, 2.0 * width - 2.0 * reached);
        // Half-way along the wall of the passage, as far from either room.
        close(
            "deviation",
            necks[0].deviation_mm,
            (1.0 + depth).hypot(half) - OFFSET,
        );
        assert!((necks[0].at.x - 5.0).abs() < 1e-9);
        assert_eq!(necks[0].kind, NarrowSlot);
        let neck = necks[0].necks[0];
        assert_eq!(necks[0].necks.len(), 1);
        close("width", neck.width_mm, width);
        close("needed", neck.required_clearance_mm, 2.0 * OFFSET);
        assert!((neck.at.y - 2.0).abs() < 1e-9 && neck.at.x >= 4.0 && neck.at.x <= 6.0);
    });
    assert_eq!(left(&rooms(0.27), -OFFSET).len(), 8);
    // Half-way along, wherever the walls of the passage are divided.
    for t in [0.1, 0.37, 0.8] {
        let mut divided = rooms(width);
        for i in [3, 10] {
            let (x, y) = (4.0 + 2.0 * t, divided.vertices[i - 1].at.y);
            divided.vertices.insert(
                i,
                Vertex {
                    at: Point::new(x, y),
                    bulge: 0.0,
                },
            );
        }
        let found = left(&divided, -OFFSET);
        let neck = found.iter().find(|p| p.kind == NarrowSlot).expect("a neck");
        close("deviation", neck.deviation_mm, (1.0 + depth).hypot(half) - OFFSET);
        assert!((neck.at.x - 5.0).abs() < 1e-9);
    }
}

#[test]
fn a_bay_shut_off_by_a_narrow_mouth_is_a_neck_too() {
    // A block with a bay 2 × 2 behind a mouth 0.2 wide, cut outside: two loops, one round the block, one in the bay.
    let block = Polyline::closed([
        (0.0, 0.0, 0.0),
        (8.0, 0.0, 0.0),
        (8.0, 6.0, 0.0),
        (4.1, 6.0, 0.0),
        (4.1, 4.0, 0.0),
        (5.0, 4.0, 0.0),
        (5.0, 2.0, 0.0),
        (3.0, 2.0, 0.0),
        (3.0, 4.0, 0.0),
        (3.9, 4.0, 0.0),
        (3.9, 6.0, 0.0),
        (0.0, 6.0, 0.0),
    ]);
    from_every_start(&block, |shape| {
        let found = left(shape, OFFSET);
        let necks: Vec<_> = found.iter().filter(|p| p.kind == NarrowSlot).collect();
        assert_eq!((found.len(), necks.len()), (5, 1));
        close("width", necks[0].necks[0].width_mm, 0.2);
        assert!((necks[0].necks[0].at.x - 4.0).abs() < 1e-9);
    });
}

#[test]
fn three_rooms_that_meet_in_one_narrow_place_have_three_necks() {
    // A hub too narrow for the wire, with three arms that open into rooms.
    let hub = Polyline::closed((0..3).flat_map(|k| {
        let turned = move |x: f64, y: f64| {
            let v = Vector::new(x, y).turned(2.0 * PI * f64::from(k) / 3.0);
            (v.x, v.y, 0.0)
        };
        // From the corner between two arms, out along one wall of an arm, round the room and back.
        let half = 0.1;
        let inner = half / (PI / 3.0).tan();
        [
            turned(inner, -half),
            turned(3.0, -half),
            turned(3.0, -2.0),
            turned(6.0, -2.0),
            turned(6.0, 2.0),
            turned(3.0, 2.0),
            turned(3.0, half),
        ]
    }));
    let found = left(&hub, -OFFSET);
    let necks: Vec<_> = found.iter().filter(|p| p.kind == NarrowSlot).collect();
    assert_eq!(necks.len(), 1, "{found:?}");
    assert_eq!(necks[0].necks.len(), 3);
    for neck in &necks[0].necks {
        close("width", neck.width_mm, 0.2);
    }
}

#[test]
fn smooth_shapes_are_reached_everywhere() {
    let circle = Polyline::circle(Point::new(1e5, -1e5), 2.0);
    assert!(left(&circle, OFFSET).is_empty());
    assert!(left(&circle, -OFFSET).is_empty());
}

/// A triangle with a corner of `angle` at the origin, the bisector along x.
fn wedge(angle: f64) -> Polyline {
    let (up, down) = (
        Vector::unit(0.5 * angle) * 20.0,
        Vector::unit(-0.5 * angle) * 20.0,
    );
    Polyline::closed([(0.0, 0.0, 0.0), (down.x, down.y, 0.0), (up.x, up.y, 0.0)])
}

/// The place left at the origin.
fn at_origin(places: Vec<UnreachedPlace>) -> UnreachedPlace {
    let mut here = places
        .into_iter()
        .filter(|p| p.at.distance(Point::default()) < 1e-9);
    here.next().expect("a place at the origin")
}

#[test]
fn an_acute_corner_is_a_corner_down_to_the_angle_of_a_slot() {
    for (degrees, kind) in [
        (5.0, NarrowSlot),
        (9.9, NarrowSlot),
        (10.1, SharpCorner),
        (20.0, SharpCorner),
        (40.0, SharpCorner),
    ] {
        let angle = f64::to_radians(degrees);
        let (area, deviation) = corner(angle);
        from_every_start(&wedge(angle), |shape| {
            let place = at_origin(left(shape, -OFFSET));
            close("area", place.area_mm2, area);
            close("deviation", place.deviation_mm, deviation);
            assert_eq!(place.kind, kind, "{degrees} degrees");
        });
    }
}

/// A closed shape with a corner at the origin between a straight wall along x and an arc of `radius` that leaves it at
/// `angle`. The arc juts into the opening, or, where `hollow`, bends away from it.
fn line_and_arc(angle: f64, radius: f64, hollow: bool) -> (Polyline, Point) {
    let tangent = Vector::unit(angle);
    let side = if hollow { -tangent.left() } else { tangent.left() };
    let center = Point::default() + side * radius;
    let sweep = if hollow { 0.3 } else { -0.3 };
    let end = center + (Point::default() - center).turned(-sweep);
    (
        Polyline::closed([
            (0.0, 0.0, 0.0),
            (20.0, 0.0, 0.0),
            (20.0, end.y, 0.0),
            (end.x, end.y, (sweep / 4.0).tan()),
        ]),
        center,
    )
}

#[test]
fn a_corner_between_a_line_and_an_arc_is_a_corner() {
    for degrees in [20.0, 40.0, 60.0, 90.0] {
        for hollow in [false, true] {
            let radius = 30.0;
            let (shape, center) = line_and_arc(f64::to_radians(degrees), radius, hollow);
            // The wire stands at the offset above the line and beside the arc.
            let from_center = if hollow { radius - OFFSET } else { radius + OFFSET };
            let y = OFFSET - center.y;
            let along = (from_center * from_center - y * y).sqrt();
            let x = center.x + if hollow { -along } else { along };
            let expected = x.hypot(OFFSET) - OFFSET;
            from_every_start(&shape, |shape| {
                let place = at_origin(left(shape, -OFFSET));
                close("deviation", place.deviation_mm, expected);
                assert_eq!(place.kind, SharpCorner, "{degrees} degrees, hollow {hollow}");
            });
        }
    }
}

#[test]
fn a_slot_in_an_edge_is_a_slot_while_it_is_narrower_than_the_wire_needs() {
    let slot = |width: f64, draft: f64| {
        let (top, bottom) = (0.5 * width, 0.5 * width - draft);
        Polyline::closed([
            (-5.0, -5.0, 0.0),
            (5.0, -5.0, 0.0),
            (5.0, 0.0, 0.0),
            (top, 0.0, 0.0),
            (bottom, -2.0, 0.0),
            (-bottom, -2.0, 0.0),
            (-top, 0.0, 0.0),
            (-5.0, 0.0, 0.0),
        ])
    };
    let slots = |shape: &Polyline| {
        left(shape, OFFSET)
            .iter()
            .filter(|p| p.kind == NarrowSlot)
            .count()
    };
    let needed = 2.0 * OFFSET;
    from_every_start(&slot(needed - 1e-3, 0.0), |shape| assert_eq!(slots(shape), 1));
    from_every_start(&slot(needed - 1e-3, 0.02), |shape| assert_eq!(slots(shape), 1));
    from_every_start(&slot(needed + 1e-3, 0.0), |shape| assert_eq!(slots(shape), 0));
}

/// A circle with one corner, between two tangents of it: what is left lies in that corner alone.
#[test]
fn a_drop_has_one_corner() {
    let angle = 1.2;
    let half: f64 = 0.5 * angle;
    let radius = 2.0;
    let touch = Vector::unit(half) * (radius / half.tan());
    // Round the far side, which turns by a half turn and the angle.
    let bulge = ((PI + angle) / 4.0).tan();
    let drop = Polyline::closed([
        (0.0, 0.0, 0.0),
        (touch.x, -touch.y, bulge),
        (touch.x, touch.y, 0.0),
    ]);
    let (area, deviation) = corner(angle);
    from_every_start(&drop, |shape| {
        let found = left(shape, -OFFSET);
        assert_eq!(found.len(), 1);
        close("area", found[0].area_mm2, area);
        close("deviation", found[0].deviation_mm, deviation);
        assert!(found[0].at.distance(Point::default()) < 1e-9);
    });
}

/// A wall of no width in a room: each of its two sides ends in a corner at its root.
#[test]
fn both_sides_of_a_slit_are_walked() {
    let slit = Polyline::closed([
        (0.0, 0.0, 0.0),
        (10.0, 0.0, 0.0),
        (10.0, 4.0, 0.0),
        (5.0, 4.0, 0.0),
        (5.0, 1.0, 0.0),
        (5.0, 4.0, 0.0),
        (0.0, 4.0, 0.0),
    ]);
    let (area, deviation) = corner(0.5 * PI);
    from_every_start(&slit, |shape| {
        let mut loops = offset(shape, -OFFSET).expect("verified").loops;
        for _ in 0..loops[0].vertices.len() {
            loops[0].vertices.rotate_left(1);
            let found = places(&shape.reversed(), &loops, OFFSET);
            assert_eq!(found.len(), 6);
            for place in found {
                close("area", place.area_mm2, area);
                close("deviation", place.deviation_mm, deviation);
                assert_eq!(place.kind, SharpCorner);
            }
        }
    });
}

/// A small radius that the walls on both sides meet at an angle is a corner where that is more than 5°.
#[test]
fn a_radius_met_at_more_than_five_degrees_is_a_sharp_corner() {
    for (degrees, kind) in [(4.9, SmallRadius), (5.1, SharpCorner)] {
        let bulge = ((0.5 * PI - 2.0 * f64::to_radians(degrees)) / 4.0).tan();
        let shape = Polyline::closed([
            (0.0, 10.0, 0.0),
            (0.0, 0.1, bulge),
            (0.1, 0.0, 0.0),
            (10.0, 0.0, 0.0),
            (10.0, 10.0, 0.0),
        ]);
        let found = left(&shape, -OFFSET);
        let mut here = found.iter().filter(|p| p.at.distance(Point::default()) < 0.3);
        assert_eq!(
            here.next().map(|place| place.kind),
            Some(kind),
            "{degrees} degrees"
        );
    }
}

/// Corners of 4.9° are neither sharp nor round; they leave 0.12 µm.
#[test]
fn corners_of_a_polygon_of_73_sides_are_corners() {
    let n = 73;
    let polygon = Polyline::closed((0..n).map(|i| {
        let p = Vector::unit(2.0 * PI * f64::from(i) / f64::from(n)) * 5.0;
        (p.x, p.y, 0.0)
    }));
    let found = left(&polygon, -OFFSET);
    assert_eq!(found.len(), 73);
    for place in found {
        close(
            "deviation",
            place.deviation_mm,
            OFFSET / (PI / 73.0).cos() - OFFSET,
        );
        assert_eq!(place.kind, SharpCorner);
    }
}

/// A line and an arc that touch where they meet, turned every way: the corner closes to nothing, as a slot.
#[test]
fn a_cusp_is_a_slot() {
    let radius = 30.0;
    let (shape, _) = line_and_arc(0.0, radius, false);
    let expected = (2.0 * (radius * OFFSET).sqrt()).hypot(OFFSET) - OFFSET;
    for step in 0..12 {
        let turned = shape.segments().map(|s| {
            let p = Point::default() + (s.from - Point::default()).turned(f64::from(step) * PI / 6.0);
            (p.x, p.y, s.bulge)
        });
        let place = at_origin(left(&Polyline::closed(turned), -OFFSET));
        assert!((place.deviation_mm - expected).abs() < 1e-6, "{place:?}");
        assert_eq!(place.kind, NarrowSlot, "turned by {step}");
    }
}

/// The turn of a path at a corner is the angle between its feet, up to three quarters of a turn; rounding makes none of it a whole turn.
#[test]
fn a_corner_turns_by_the_angle_between_its_feet() {
    let foot = |degrees: f64| Point::new(3.0, -1.0) + Vector::unit(0.4 + f64::to_radians(degrees)) * OFFSET;
    for (degrees, expected) in [
        (0.0, 0.0),
        (-1e-9, 0.0),
        (30.0, 30.0),
        (179.0, 179.0),
        (190.0, 190.0),
        (260.0, 260.0),
    ] {
        let corner = PathCorner {
            id: (0, 0),
            at: Point::new(3.0, -1.0),
            leaves: foot(degrees),
            arrives: foot(0.0),
        };
        close("turn", corner.turn(), f64::to_radians(expected));
        close(
            "wall",
            corner.left_wall().length(),
            OFFSET * f64::to_radians(expected),
        );
    }
}

/// A foot is on a wall up to 10 nm away that runs the same way; how far along it lies is measured there.
#[test]
fn a_foot_is_on_a_wall_within_ten_nanometres() {
    let wall = Segment::line(Point::default(), Point::new(2.0, 0.0));
    let along = Vector::new(1.0, 0.0);
    for (off, on_it) in [(0.9e-8, true), (-0.9e-8, true), (1.1e-8, false), (-1.1e-8, false)] {
        let foot = Point::new(0.7, off);
        assert_eq!(ContourWalk::is_foot_of(wall, foot, along), on_it, "{off}");
        assert!(!ContourWalk::is_foot_of(wall, foot, -along), "{off}");
    }
}
