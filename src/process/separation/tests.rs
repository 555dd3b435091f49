//! Masses against closed forms, tabs against the strength of a beam worked by hand, coreless rings against counting.

use std::f64::consts::PI;

use proptest::prelude::*;

use crate::contour::{self, Contours};
use crate::geometry::{Bounds, Point, Polyline, SegmentIndex};
use crate::id::GroupId;
use crate::job::{OpenSkims, PieceOptions, Purposes, Reading, Side, SlugPolicy, TabOptions};
use crate::pass::{CornerRun, Group, PassRequest, schedule};
use crate::process::tab::{Load, TabPlace, last_stretch, tab};
use crate::process::{
    Handling, NotCoreless, PieceKind, Plate, Removal, Separation, SlugReason, SlugWork, coreless,
    separations, tab_length_mm,
};
use crate::shop::Book;
use crate::toolpath::{offset, wire_paths};

/// The first of four passes of the 0.25 mm wire of the built-in book, mm.
const OFFSET: f64 = 0.197;
const REACH: f64 = 0.165;
/// Tool steel, g/cm³.
const DENSITY: f64 = 7.7;

fn book() -> Book {
    Book::built_in().expect("the built-in book is sound")
}

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Polyline {
    Polyline::closed([
        (x, y, 0.0),
        (x + width, y, 0.0),
        (x + width, y + height, 0.0),
        (x, y + height, 0.0),
    ])
}

/// Four passes round the contours of `curves`, and how their pieces drop.
fn separated(
    curves: Vec<(&'static str, Polyline)>,
    uses: &Purposes,
    thickness_mm: f64,
    ask: PieceOptions,
) -> (Contours, Vec<Separation>) {
    let book = book();
    let drawing = contour::tests::drawing(curves);
    let contours = contour::build(&drawing, &Reading::default(), uses);
    let asked = PassRequest::new("tool-steel", thickness_mm, 0.25, 4);
    let cut = contours
        .list
        .iter()
        .filter(|c| c.purpose == crate::job::Purpose::Cut);
    let groups = [Group {
        group: GroupId::FIRST,
        contours: cut.map(|c| c.id).collect(),
        passes: schedule(&book, &asked).expect("it is in the book").passes,
        tolerance_mm: None,
        inside_radius_mm: None,
        corners: CornerRun::default(),
        open_skims: OpenSkims::default(),
        rough_only: Vec::new(),
        run_out_mm: 0.5,
        overload_limit: 1.5,
    }];
    let paths = wire_paths(&contours, &groups);
    let handling = Handling {
        rules: &book.rules,
        plate: Plate {
            material: book.material("tool-steel").expect("it is in the book"),
            thickness_mm,
        },
        clamp: None,
        // The built-in book, by hand in src/plan/slug_work.rs; 60 mm of tool steel at 150 mm²/min.
        slug_work: SlugWork {
            ring_min_per_mm: &|_| thickness_mm / 150.0,
            stop_min: 7.0,
            minute_worth: 0.6,
        },
    };
    let found = separations(&contours, &paths.loops, &groups, &handling, |_| ask, |_| None);
    (contours, found)
}

fn existing_plate() -> Purposes {
    Purposes {
        layers: [("plate".to_owned(), crate::job::Purpose::Existing)].into(),
        ..Purposes::default()
    }
}

fn close(what: &str, got: f64, expected: f64, slack: f64) {
    assert!((got - expected).abs() <= slack, "{what}: {got}, not {expected}");
}

/// The slug of a Ø4 opening is Ø4 less twice the outer reach of the kerf from the wall, 0.197 + 0.165 mm, each side.
#[test]
fn the_slug_of_a_small_bore_weighs_five_grams() {
    let curves = vec![
        ("plate", rectangle(-20.0, -20.0, 40.0, 40.0)),
        ("cut", Polyline::circle(Point::new(3.0, 1.0), 2.0)),
    ];
    let (_, found) = separated(curves, &existing_plate(), 80.0, PieceOptions::default());
    assert_eq!(found.len(), 1);
    let slug = &found[0].piece;
    assert_eq!(slug.kind, PieceKind::Slug);
    let across = 4.0 - 2.0 * (OFFSET + REACH);
    close("across", slug.across_mm, across, 1e-9);
    close("across", slug.across_mm, 3.276, 1e-9);
    close("area", slug.area_mm2, PI / 4.0 * across * across, 1e-9);
    close("mass, g", slug.mass_kg * 1000.0, 5.2, 0.05);
    assert!(found[0].may_jam && !found[0].lift_with_help && slug.exact);
}

#[test]
fn a_start_hole_within_the_slug_is_gone_from_it() {
    let curves = vec![
        ("plate", rectangle(-20.0, -20.0, 40.0, 40.0)),
        ("cut", Polyline::circle(Point::new(3.0, 1.0), 2.0)),
        ("start", Polyline::circle(Point::new(3.2, 1.0), 0.5)),
    ];
    let mut uses = existing_plate();
    uses.layers
        .insert("start".to_owned(), crate::job::Purpose::StartHole);
    let (_, found) = separated(curves, &uses, 10.0, PieceOptions::default());
    let across: f64 = 4.0 - 2.0 * (OFFSET + REACH);
    let area = PI / 4.0 * (across * across - 1.0);
    close("area", found[0].piece.area_mm2, area, 1e-9);
    // The rings begin at it.
    let run = &found[0].coreless().expect("it is small").run;
    assert_eq!(run.vertices[0].at, Point::new(3.2, 1.0));
}

/// 200 × 150 × 60 mm at 7.7 g/cm³ are 13.86 kg.
#[test]
fn a_heavy_part_is_weighed_and_lifted_with_help() {
    let curves = vec![("cut", rectangle(5.0, 5.0, 200.0, 150.0))];
    let (_, found) = separated(curves, &Purposes::default(), 60.0, PieceOptions::default());
    let part = &found[0];
    assert_eq!(part.piece.kind, PieceKind::Part);
    close("mass", part.piece.mass_kg, 13.86, 1e-9);
    assert!(part.lift_with_help && !part.may_jam);
    let tab = part.tab().expect("it is held");
    assert!(tab.on_straight && tab.length_mm >= tab.required_clearance_mm);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Blank = part + slugs + rough kerfs + what the skims take + frame. The kerfs by Steiner and Pappus: a closed curve
    /// of length l that turns smoothly sweeps 2·r·l; one with n square inside corners leaves (4 − π)·r² of it unswept
    /// outside and doubles it inside.
    #[test]
    fn nothing_is_lost(
        width in 30.0f64..200.0,
        height in 30.0f64..200.0,
        bore in 3.0f64..10.0,
        slot in (2.0f64..8.0, 2.0f64..12.0),
        thickness in 1.0f64..100.0,
    ) {
        let curves = vec![
            ("cut", rectangle(0.0, 0.0, width, height)),
            ("cut", Polyline::circle(Point::new(0.25 * width, 0.5 * height), 0.5 * bore)),
            ("cut", rectangle(0.6 * width, 0.4 * height, slot.0, slot.1)),
        ];
        let ask = PieceOptions { slug: Some(SlugPolicy::Stop), ..PieceOptions::default() };
        let (_, found) = separated(curves, &Purposes::default(), thickness, ask);
        prop_assert_eq!(found.len(), 3);
        prop_assert!(found.iter().all(|s| s.piece.mass_kg > 0.0 && s.piece.exact));
        let margin = 7.0;
        let blank = (width + 2.0 * margin) * (height + 2.0 * margin);
        // Out to the far edge of the kerf the part grows by OFFSET + REACH, its corners rolled.
        let far = OFFSET + REACH;
        let around = width * height + 2.0 * (width + height) * far + PI * far * far;
        let frame = blank - around;
        let skirt = around - width * height;
        let ring = PI * bore * far - PI * far * far;
        // The path in the slot has square corners: its wall there is rounded by REACH.
        let (a, b) = (slot.0 - 2.0 * OFFSET, slot.1 - 2.0 * OFFSET);
        let swept = a * b + 2.0 * (a + b) * REACH + PI * REACH * REACH - (a - 2.0 * REACH) * (b - 2.0 * REACH);
        let skims = slot.0 * slot.1 - (a * b + 2.0 * (a + b) * REACH + PI * REACH * REACH);
        let kerfs = skirt + ring + swept + skims;
        let pieces: f64 = found.iter().map(|s| s.piece.mass_kg).sum();
        let gone = (kerfs + frame) * thickness * DENSITY / 1e6;
        let whole = blank * thickness * DENSITY / 1e6;
        prop_assert!((pieces + gone - whole).abs() < 1e-9 * whole, "{pieces} + {gone} is not {whole}");
    }
}

/// A part that stands in an opening is cut out of its slug before: what is gone is the part and its kerf.
#[test]
fn a_part_within_an_opening_is_gone_from_its_slug() {
    let curves = vec![
        ("plate", rectangle(-50.0, -50.0, 100.0, 100.0)),
        ("cut", Polyline::circle(Point::default(), 30.0)),
        ("cut", Polyline::circle(Point::default(), 10.0)),
    ];
    let (_, found) = separated(curves, &existing_plate(), 10.0, PieceOptions::default());
    let of = |kind: PieceKind| found.iter().find(|s| s.piece.kind == kind).expect("there is one");
    let far = OFFSET + REACH;
    let ring = PI * ((30.0 - far) * (30.0 - far) - (10.0 + far) * (10.0 + far));
    close("slug", of(PieceKind::Slug).piece.area_mm2, ring, 1e-7);
    close("part", of(PieceKind::Part).piece.area_mm2, PI * 100.0, 1e-9);
}

/// Worked by hand with the built-in numbers: 60 MPa over 3 is 20 MPa; flushing 30 N; g 9.80665 m/s².
#[test]
fn a_tab_is_as_long_as_the_beam_formula_asks() {
    let rule = &book().rules.tab;
    let length = |mass_kg, lever_mm, thickness_mm| tab_length_mm(rule, mass_kg, lever_mm, thickness_mm);
    // 13.86 kg, 100 mm away, 60 mm thick: down 1.383, sideways √15, shear 0.415 mm.
    close("thick", length(13.86, 100.0, 60.0), 15f64.sqrt(), 1e-12);
    // 0.385 kg, 50 mm away, 5 mm thick: down 6 · 33.7756 · 50 / (20 · 25).
    close("thin", length(0.385, 50.0, 5.0), 20.265, 5e-4);
    // A slug of 5 g asks for less than the shortest tab.
    close("small", length(0.0052, 1.6, 80.0), 1.0, 1e-12);
}

fn load() -> Load {
    Load {
        mass_kg: 1.0,
        centroid: Point::new(20.0, 10.0),
        thickness_mm: 30.0,
    }
}

#[test]
fn a_tab_stands_on_the_straight_nearest_to_the_clamps_whatever_vertex_the_path_begins_at() {
    let rule = &book().rules.tab;
    let mut path = rectangle(0.0, 0.0, 40.0, 20.0);
    for _ in 0..4 {
        path.vertices.rotate_left(1);
        for (side, middle) in [
            (Side::Left, Point::new(0.0, 10.0)),
            (Side::Right, Point::new(40.0, 10.0)),
            (Side::Top, Point::new(20.0, 20.0)),
            (Side::Bottom, Point::new(20.0, 0.0)),
        ] {
            let place = TabPlace {
                towards: Some(side.direction()),
                entry: Some(Point::new(20.0, if side == Side::Top { 0.0 } else { 20.0 })),
            };
            let tab = tab(&path, &load(), rule, &TabOptions::default(), &place).expect("one is asked for");
            assert!(tab.at.distance(middle) < 1e-9, "{side:?}: {:?}", tab.at);
            assert!(tab.on_straight && tab.length_mm == tab.required_clearance_mm);
            close("run", tab.run.length(), tab.length_mm, 1e-9);
        }
    }
}

/// A round opening has no straight: the tab stands on the arc nearest to the clamps.
#[test]
fn without_a_straight_a_tab_stands_on_an_arc_towards_the_clamps() {
    let rule = &book().rules.tab;
    let circle = Polyline::closed([
        (11.0, 10.0, 0.4142),
        (20.0, 1.0, 0.4142),
        (29.0, 10.0, 0.4142),
        (20.0, 19.0, 0.4142),
    ]);
    let place = TabPlace {
        towards: Some(Point::new(-1.0, -1.0) - Point::default()),
        entry: Some(Point::new(20.0, 19.0)),
    };
    let tab = tab(&circle, &load(), rule, &TabOptions::default(), &place).expect("one is asked for");
    assert!(
        !tab.on_straight && tab.at.x < 15.0 && tab.at.y < 5.0,
        "{:?}",
        tab.at
    );
}

#[test]
fn without_clamps_a_tab_ends_where_the_path_is_entered() {
    let rule = &book().rules.tab;
    let path = rectangle(0.0, 0.0, 40.0, 20.0);
    for entry in [Point::new(20.0, 0.0), Point::new(0.0, 7.0), Point::new(0.0, 0.0)] {
        let place = TabPlace {
            towards: None,
            entry: Some(entry),
        };
        let tab = tab(&path, &load(), rule, &TabOptions::default(), &place).expect("one is asked for");
        let end = tab.run.vertices.last().expect("it has an end").at;
        assert!(end.distance(entry) < 1e-9, "{entry:?}: {end:?}");
        close("run", tab.run.length(), tab.length_mm, 1e-9);
    }
    // On a circle too, over its first vertex; on a straight where the entry is not known.
    let unknown =
        tab(&path, &load(), rule, &TabOptions::default(), &TabPlace::default()).expect("one is asked for");
    assert!(unknown.on_straight && unknown.at.distance(Point::new(20.0, 0.0)) < 1e-9);
    let circle = Polyline::circle(Point::new(20.0, 10.0), 9.0);
    let entered = TabPlace {
        towards: None,
        entry: Some(circle.vertices[0].at),
    };
    let tab = tab(&circle, &load(), rule, &TabOptions::default(), &entered).expect("one is asked for");
    let end = tab.run.vertices.last().expect("it has an end").at;
    assert!(!tab.on_straight && end.distance(circle.vertices[0].at) < 1e-9);
    close("run", tab.run.length(), tab.length_mm, 1e-9);
}

#[test]
fn a_tab_can_be_asked_for_or_left_out() {
    let rule = &book().rules.tab;
    let path = rectangle(0.0, 0.0, 40.0, 20.0);
    let asked = |length_mm, at| {
        let ask = TabOptions { length_mm, at };
        tab(&path, &load(), rule, &ask, &TabPlace::default())
    };
    assert_eq!(asked(Some(0.0), None), None);
    let tab = asked(Some(4.0), Some(Point::new(41.0, 0.5))).expect("one is asked for");
    assert!(tab.at.distance(Point::new(40.0, 0.5)) < 1e-9 && !tab.run.closed);
    // It goes round the corner: 1.5 mm of the bottom, 2.5 of the right side.
    let first = tab.run.vertices[0].at;
    assert!(first.distance(Point::new(38.5, 0.0)) < 1e-9);
    assert!(!tab.on_straight);
    // More than the book lets a tab take: it is cut short. Less than the piece asks for: what it asks for is kept.
    assert_eq!(asked(Some(60.0), None).map(|tab| tab.length_mm), Some(30.0));
    let short = asked(Some(0.3), None).expect("one is asked for");
    assert!(short.length_mm == 0.3 && short.required_clearance_mm >= 1.0);
}

/// A plate of 1 mm, 300 × 200: the flushing alone asks for 30 N · 6 · 150 mm / (20 MPa · 1 mm²), 1.35 m of tab.
#[test]
fn a_tab_stays_short_where_its_piece_asks_for_more_than_a_tab_can_be() {
    let rule = &book().rules.tab;
    let path = rectangle(0.0, 0.0, 300.0, 200.0);
    let held = |thickness_mm: f64| {
        let load = Load {
            mass_kg: 60_000.0 * thickness_mm * 7.7e-6,
            centroid: Point::new(150.0, 100.0),
            thickness_mm,
        };
        let place = TabPlace {
            towards: None,
            entry: Some(Point::new(0.0, 100.0)),
        };
        tab(&path, &load, rule, &TabOptions::default(), &place).expect("one is asked for")
    };
    let thin = held(1.0);
    assert!(thin.required_clearance_mm > 1300.0 && thin.length_mm == 15.0 && thin.several.is_none());
    // 8 mm, 3.696 kg: (3.696 g + 30) 6 · 150 / (20 · 64) = 46.6 mm for one, a third for each of three.
    let plate = held(8.0);
    close("one", plate.required_clearance_mm, 46.577, 1e-2);
    assert_eq!((plate.length_mm, plate.several), (15.0, None));
    // 9 mm: 38.0 mm for one, 12.7 for each of three.
    let plate = held(9.0);
    let several = plate.several.expect("three hold it");
    assert_eq!((plate.length_mm, several.count), (15.0, 3));
    close(
        "three",
        several.length_mm,
        plate.required_clearance_mm / 3.0,
        1e-9,
    );
    assert_eq!(held(40.0).several, None);
}

/// A rack: teeth 4 high with tips 2 wide on a body of 60 × 20. The path is entered at a tip and just past a corner.
#[test]
fn no_tab_goes_across_a_tip_or_round_a_corner_where_a_straight_is_near() {
    let rule = &book().rules.tab;
    let mut line = vec![(0.0, 0.0, 0.0), (60.0, 0.0, 0.0), (60.0, 20.0, 0.0)];
    for tooth in (0..10).rev() {
        let x = f64::from(tooth) * 6.0;
        line.extend([
            (x + 5.0, 20.0, 0.0),
            (x + 4.0, 24.0, 0.0),
            (x + 2.0, 24.0, 0.0),
            (x + 1.0, 20.0, 0.0),
        ]);
    }
    line.push((0.0, 20.0, 0.0));
    let path = Polyline::closed(line);
    let load = Load {
        mass_kg: 0.3,
        centroid: Point::new(30.0, 10.0),
        thickness_mm: 60.0,
    };
    let at_entry = |entry: Point| {
        let place = TabPlace {
            towards: None,
            entry: Some(entry),
        };
        tab(&path, &load, rule, &TabOptions::default(), &place).expect("one is asked for")
    };
    for entry in [
        Point::new(2.5, 24.0),
        Point::new(57.0, 24.0),
        Point::new(0.0, 19.9),
        Point::new(0.5, 0.0),
    ] {
        let tab = at_entry(entry);
        let low = tab.run.vertices.iter().all(|vertex| vertex.at.y <= 20.0 + 1e-9);
        assert!(tab.on_straight && low, "{entry:?}: {:?}", tab.at);
        assert!(tab.at.distance(entry) < 20.0, "{entry:?}: {:?}", tab.at);
    }
    // A tab that stands well stays the end of the path; far from every straight it stays too.
    let bottom = at_entry(Point::new(30.0, 0.0));
    let end = bottom.run.vertices.last().expect("it has an end").at;
    assert!(end.distance(Point::new(30.0, 0.0)) < 1e-9);
    let middle = at_entry(Point::new(30.0 - 2.5, 24.0));
    assert!(
        middle.at.distance(Point::new(27.5, 24.0)) < 3.0,
        "{:?}",
        middle.at
    );
    // The last stretch of a piece without a tab has to end the path.
    let stretch = last_stretch(&path, &load, rule, Point::new(2.5, 24.0));
    let end = stretch.run.vertices.last().expect("it has an end").at;
    assert!(end.distance(Point::new(2.5, 24.0)) < 1e-9);
}

const STEP: f64 = 2.0 * REACH * 0.7;

/// Rings of a round opening: a step apart, then half a step for what is left in the middle.
#[test]
fn a_round_slug_is_cleared_by_rings_a_step_apart() {
    let middle = Point::new(5.0, 7.0);
    let path = offset(&Polyline::circle(middle, 2.0), -OFFSET)
        .expect("verified")
        .loops
        .remove(0);
    let found = coreless(&path, REACH, STEP, Some(middle)).expect("it can be cleared");
    let mut radii = Vec::new();
    let mut radius = 2.0 - OFFSET;
    while radius > REACH {
        radius -= if radius > STEP { STEP } else { 0.5 * STEP };
        radii.push(radius);
    }
    assert_eq!((found.rings.len(), radii.len()), (8, 8));
    let rings: f64 = radii.iter().map(|r| 2.0 * PI * r).sum();
    // Out from the middle to the outermost ring, straight.
    close("length", found.length_mm, rings + radii[0], 1e-6);
    for (ring, radius) in found.rings.iter().zip(radii.iter().rev()) {
        close("ring", ring.length(), 2.0 * PI * radius, 1e-6);
    }
    let (first, last) = (
        found.run.vertices[0].at,
        found.run.vertices.last().expect("an end").at,
    );
    assert!(first.distance(middle) < 1e-9);
    close("end", last.distance(middle), radii[0], 1e-6);
}

/// How many points of a grid lie within the path, and how many of them no ring and not the path itself clears.
fn left_standing(path: &Polyline, rings: &[Polyline]) -> (usize, usize) {
    const GRID: f64 = 0.017;
    let index = SegmentIndex::of([path]);
    let swept = SegmentIndex::of(rings.iter().chain([path]));
    let bounds: Bounds = path.bounds();
    let (mut within, mut left) = (0, 0);
    let count = |extent: f64| (extent / GRID) as usize;
    for i in 0..count(bounds.width()) {
        for j in 0..count(bounds.height()) {
            let p = Point::new(bounds.min.x + i as f64 * GRID, bounds.min.y + j as f64 * GRID);
            if index.winding(p) == 0 {
                continue;
            }
            within += 1;
            left += usize::from(swept.nearest_within(p, REACH + 2e-4).is_none());
        }
    }
    (within, left)
}

/// In corners sharper than 47° a step of 70 % of the kerf would leave slivers.
#[test]
fn no_sliver_is_left_in_any_corner() {
    let mut seen = 0;
    for degrees in [12.0f64, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0] {
        let half = 0.5 * degrees.to_radians();
        let (x, y) = (5.0 * half.cos(), 5.0 * half.sin());
        let wedge = Polyline::closed([(0.0, 0.0, 0.0), (x, -y, 0.0), (x, y, 0.3)]);
        for path in offset(&wedge, -OFFSET).expect("verified").loops {
            let start = path.centroid();
            let found = coreless(&path, REACH, STEP, Some(start)).expect("it can be cleared");
            let (within, left) = left_standing(&path, &found.rings);
            assert_eq!(left, 0, "{degrees}°: of {within} points {left} are left");
            seen += within;
        }
    }
    assert!(seen > 50_000, "only {seen} points were looked at");
    // The same look sees what fewer rings leave.
    let path = Polyline::circle(Point::default(), 1.8).reversed();
    let mut found = coreless(&path, REACH, STEP, None).expect("it can be cleared");
    found.rings.remove(3);
    assert!(left_standing(&path, &found.rings).1 > 100);
}

#[test]
fn a_slug_that_falls_into_regions_is_not_cleared() {
    let dumb_bell = Polyline::closed([
        (0.0, 0.0, 0.0),
        (2.0, 0.0, 0.0),
        (2.0, 0.75, 0.0),
        (3.0, 0.75, 0.0),
        (3.0, 0.0, 0.0),
        (5.0, 0.0, 0.0),
        (5.0, 2.0, 0.0),
        (3.0, 2.0, 0.0),
        (3.0, 1.25, 0.0),
        (2.0, 1.25, 0.0),
        (2.0, 2.0, 0.0),
        (0.0, 2.0, 0.0),
    ]);
    let refused = coreless(&dumb_bell, REACH, STEP, None);
    assert!(
        matches!(refused, Err(NotCoreless::Splits { regions: 2, .. })),
        "{refused:?}"
    );
}

/// A start in the short arm of an L does not see the innermost ring, which lies in the long one.
#[test]
fn a_start_behind_the_wall_is_refused() {
    let bent = Polyline::closed([
        (0.0, 0.0, 0.0),
        (5.0, 0.0, 0.0),
        (5.0, 4.0, 0.0),
        (4.5, 4.0, 0.0),
        (4.5, 0.5, 0.0),
        (2.0, 0.5, 0.0),
        (2.0, 3.0, 0.0),
        (0.0, 3.0, 0.0),
    ]);
    let from = |x, y| coreless(&bent, REACH, 0.31, Some(Point::new(x, y)));
    assert!(from(1.0, 1.5).is_ok());
    assert_eq!(
        from(4.75, 3.8).map(|found| found.length_mm),
        Err(NotCoreless::OutOfSight)
    );
}

#[test]
fn a_large_slug_is_not_cleared() {
    let hall = rectangle(0.0, 0.0, 1e6, 1e6);
    let refused = coreless(&hall, REACH, STEP, None);
    assert!(
        matches!(refused, Err(NotCoreless::TooLarge { .. })),
        "{refused:?}"
    );
}

/// Two loops that cross are no hole in one another: what is taken off is never more than there is.
#[test]
fn no_piece_weighs_less_than_nothing() {
    let curves = vec![
        ("plate", rectangle(-50.0, -50.0, 100.0, 100.0)),
        ("cut", rectangle(0.0, 0.0, 20.0, 10.0)),
        ("cut", rectangle(1.0, 0.05, 18.0, 9.9)),
    ];
    let (_, found) = separated(curves, &existing_plate(), 10.0, PieceOptions::default());
    assert!(!found.is_empty() && found.iter().all(|s| s.piece.mass_kg > 0.0));
    assert!(found.iter().any(|s| !s.piece.exact));
}

fn bore(diameter_mm: f64, thickness_mm: f64, ask: PieceOptions) -> Separation {
    let curves = vec![
        ("plate", rectangle(-20.0, -20.0, 40.0, 40.0)),
        ("cut", Polyline::circle(Point::new(3.0, 1.0), diameter_mm / 2.0)),
    ];
    separated(curves, &existing_plate(), thickness_mm, ask)
        .1
        .remove(0)
}

#[test]
fn small_slugs_are_cleared_as_the_book_says_and_held_where_asked() {
    let by_book = bore(4.0, 10.0, PieceOptions::default());
    assert!(by_book.coreless().is_some() && by_book.not_coreless.is_none());
    let held = bore(
        4.0,
        10.0,
        PieceOptions {
            slug: Some(SlugPolicy::Stop),
            ..PieceOptions::default()
        },
    );
    assert!(matches!(held.removal, Removal::Held(_)) && held.may_jam && held.weighed.is_none());
}

/// Ring by ring: the slug of Ø5.8 is Ø5.076, cleared by rings some 0.231 mm apart, so their length is near its area over that.
/// Through 150 mm that takes more than an hour, and a stop seven minutes.
#[test]
fn a_slug_is_cleared_where_that_is_no_dearer_or_it_cannot_be_held() {
    let reason = |diameter_mm, thickness_mm, slug| {
        let ask = PieceOptions {
            slug,
            ..PieceOptions::default()
        };
        let slug = bore(diameter_mm, thickness_mm, ask);
        let weighed = slug.weighed.expect("both are possible");
        let is_cleared = slug.coreless().is_some();
        let length_mm = weighed.coreless_min * 150.0 / thickness_mm;
        let across_mm: f64 = diameter_mm - 2.0 * (OFFSET + REACH);
        let by_area_mm = PI / 4.0 * across_mm.powi(2) / STEP;
        close("rings", length_mm, by_area_mm, 0.35 * by_area_mm + 1.0);
        close(
            "ratio",
            weighed.cost_ratio.expect("a stop takes time"),
            weighed.coreless_min * 0.6 / 7.0,
            1e-12,
        );
        (weighed.reason, is_cleared)
    };
    assert_eq!(reason(5.8, 150.0, None), (SlugReason::Dearer, false));
    assert_eq!(reason(5.8, 10.0, None), (SlugReason::NoDearer, true));
    assert_eq!(reason(4.0, 80.0, None), (SlugReason::Dearer, false));
    // Ø1.776: nothing to hold it by, whatever it costs.
    assert_eq!(reason(2.5, 300.0, None), (SlugReason::CannotBeHeld, true));
    assert_eq!(
        reason(5.8, 150.0, Some(SlugPolicy::Coreless)),
        (SlugReason::Asked, true)
    );
}

/// Worked with the formula itself: 30 N sideways on 20 MPa, the lever from the end of the path to the centre of area.
#[test]
fn the_last_stretch_is_as_long_as_a_tab_at_the_end_of_the_path() {
    let ask = PieceOptions {
        tab: TabOptions {
            length_mm: Some(0.0),
            at: Some(Point::new(0.0, 30.0)),
        },
        ..PieceOptions::default()
    };
    let curves = vec![("cut", rectangle(0.0, 0.0, 80.0, 60.0))];
    let (_, found) = separated(curves, &Purposes::default(), 30.0, ask);
    let part = &found[0];
    assert!(part.tab().is_none() && part.coreless().is_none());
    let stretch = part.last_stretch().expect("it gets no tab");
    assert_eq!(part.uncut(), Some(stretch));
    let end = stretch.run.vertices.last().expect("it has an end").at;
    let lever_mm = end.distance(Point::new(40.0, 30.0));
    close(
        "length",
        stretch.length_mm,
        (6.0 * 30.0 * lever_mm / (20.0 * 30.0)).sqrt(),
        1e-9,
    );
}

#[test]
fn the_last_stretch_ends_where_the_path_is_entered() {
    let path = rectangle(0.0, 0.0, 40.0, 20.0);
    let entry = Point::new(0.0, 7.0);
    let stretch = last_stretch(&path, &load(), &book().rules.tab, entry);
    let end = stretch.run.vertices.last().expect("it has an end").at;
    assert!(end.distance(entry) < 1e-9 && stretch.length_mm == stretch.required_clearance_mm);
}
