//! Contours against closed forms, and what must not change when a drawing is turned about.

use std::f64::consts::PI;

use proptest::prelude::*;

use super::*;
use crate::drawing::{Curve, Origin, Units, UnitsSource};
use crate::dxf::document::Layer;
use crate::geometry::Vertex;

/// A drawing of the given curves, each on a layer.
pub(crate) fn drawing(curves: impl IntoIterator<Item = (&'static str, Polyline)>) -> Drawing {
    let mut layers: Vec<Layer> = Vec::new();
    let curves = curves
        .into_iter()
        .enumerate()
        .map(|(i, (name, polyline))| {
            let layer = layers
                .iter()
                .position(|layer| layer.name == name)
                .unwrap_or_else(|| {
                    layers.push(Layer {
                        name: name.to_owned(),
                        ..Layer::default()
                    });
                    layers.len() - 1
                });
            Curve {
                length_mm: polyline.length(),
                polyline,
                fit_deviation_mm: 0.0,
                origin: Origin {
                    entity: "LINE",
                    layer: layer as u32,
                    linetype: 0,
                    color: 7,
                    handle: i as u64 + 1,
                    insert_handle: 0,
                    line: 10 * i + 1,
                },
            }
        })
        .collect();
    Drawing {
        units: Units {
            name: "mm",
            factor_to_mm: 1.0,
            source: UnitsSource::Drawing,
        },
        insunits: Some(4),
        layers,
        linetypes: vec!["Continuous".to_owned(), "CENTER2".to_owned()],
        curves,
        ignored: Vec::new(),
        texts: Vec::new(),
        points: Vec::new(),
        notices: Vec::new(),
        facts: Vec::new(),
        fit_deviation_mm: 0.0,
    }
}

fn line(x0: f64, y0: f64, x1: f64, y1: f64) -> Polyline {
    Polyline::open([(x0, y0, 0.0), (x1, y1, 0.0)])
}

/// The four sides of an upright rectangle as loose lines.
fn sides(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<(&'static str, Polyline)> {
    vec![
        ("0", line(x0, y0, x1, y0)),
        ("0", line(x1, y1, x1, y0)),
        ("0", line(x1, y1, x0, y1)),
        ("0", line(x0, y0, x0, y1)),
    ]
}

fn made(curves: impl IntoIterator<Item = (&'static str, Polyline)>) -> Contours {
    build(&drawing(curves), &Reading::default(), &Uses::default())
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} is not {b}");
}

#[test]
fn four_lines_are_a_rectangle() {
    let contours = made(sides(0.0, 0.0, 40.0, 20.0));
    assert_eq!(contours.list.len(), 1);
    let rectangle = &contours.list[0];
    close(rectangle.perimeter_mm, 120.0);
    close(rectangle.area_mm2, 800.0);
    assert_eq!(rectangle.role, Role::Outside);
    assert_eq!(rectangle.curves.len(), 4);
    assert_eq!(rectangle.min_inside_radius_mm, None);
    assert!(rectangle.polyline.area() > 0.0);
}

#[test]
fn nesting_gives_roles_and_the_wire_its_side() {
    let mut curves = sides(0.0, 0.0, 40.0, 40.0);
    curves.extend(sides(5.0, 5.0, 35.0, 35.0));
    curves.push(("0", Polyline::circle(Point::new(20.0, 20.0), 5.0)));
    curves.push(("0", Polyline::circle(Point::new(20.0, 20.0), 2.0).reversed()));
    let contours = made(curves).list;
    let rows: Vec<_> = contours.iter().map(|c| (c.depth, c.parent, c.role)).collect();
    assert_eq!(
        rows,
        [
            (0, None, Role::Outside),
            (1, Some(1), Role::Opening),
            (2, Some(2), Role::Outside),
            (3, Some(3), Role::Opening),
        ]
    );
    assert_eq!(contours[1].sharp_inside_corners.len(), 4);
    close(contours[1].sharp_inside_corners[0].angle_rad, PI / 2.0);
    assert_eq!(contours[1].min_inside_radius_mm, Some(0.0));
    assert_eq!(contours[2].min_inside_radius_mm, None);
    close(contours[3].min_inside_radius_mm.unwrap_or_default(), 2.0);
}

#[test]
fn a_shared_corner_gives_two_loops_and_a_branch() {
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    curves.extend(sides(10.0, 10.0, 15.0, 15.0));
    let contours = made(curves);
    let mut areas: Vec<f64> = contours.list.iter().map(|c| c.area_mm2).collect();
    areas.sort_by(f64::total_cmp);
    assert_eq!(areas, [25.0, 100.0]);
    assert!(contours.list.iter().all(|c| c.branched));
    assert_eq!(contours.facts.branches.len(), 1);
    assert_eq!(contours.facts.branches[0].ends, 4);
}

#[test]
fn a_divider_leaves_the_outer_loop_whole() {
    let curves = vec![
        ("0", line(10.0, 0.0, 10.0, 10.0)),
        ("0", line(0.0, 0.0, 10.0, 0.0)),
        ("0", line(10.0, 0.0, 20.0, 0.0)),
        ("0", line(20.0, 0.0, 20.0, 10.0)),
        ("0", line(20.0, 10.0, 10.0, 10.0)),
        ("0", line(10.0, 10.0, 0.0, 10.0)),
        ("0", line(0.0, 10.0, 0.0, 0.0)),
    ];
    let contours = made(curves).list;
    assert_eq!(contours.len(), 2);
    assert_eq!(contours[0].role, Role::Open);
    close(contours[1].area_mm2, 200.0);
}

#[test]
fn a_whisker_or_a_bridge_does_not_break_a_loop() {
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    // Straighter on from either side of the corner than the other side is.
    curves.push(("0", line(10.0, 10.0, 15.0, 15.0)));
    curves.extend(sides(15.0, 15.0, 20.0, 20.0));
    curves.push(("0", line(0.0, 0.0, -3.0, -3.0)));
    let contours = made(curves).list;
    let loops = contours.iter().filter(|c| c.role != Role::Open).count();
    assert_eq!((loops, contours.len()), (2, 4));
}

#[test]
fn gaps_are_shown_and_closed_only_when_asked() {
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    curves[0].1 = line(0.0, 0.0, 9.95, 0.0);
    let drawing = drawing(curves);
    let open = build(&drawing, &Reading::default(), &Uses::default());
    assert_eq!(open.list[0].role, Role::Open);
    assert_eq!(open.facts.gaps.len(), 1);
    close(open.facts.gaps[0].size_mm, 0.05);
    let reading = Reading {
        join_mm: 0.1,
        ..Reading::default()
    };
    let closed = build(&drawing, &reading, &Uses::default());
    assert_eq!(closed.list[0].role, Role::Outside);
    assert_eq!(closed.facts.gaps_closed.len(), 1);
    close(closed.facts.gaps_closed[0].size_mm, 0.05);
}

#[test]
fn doubled_lines_are_kept_once() {
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    curves.extend(
        sides(0.0, 0.0, 10.0, 10.0)
            .into_iter()
            .map(|(l, p)| (l, p.reversed())),
    );
    let contours = made(curves);
    assert_eq!(contours.list.len(), 1);
    close(contours.list[0].perimeter_mm, 40.0);
    assert_eq!(contours.facts.duplicate_curves.len(), 4);
    assert_eq!(
        contours.facts.duplicate_curves[0],
        DuplicateCurve { curve: 4, kept: 0 }
    );
}

#[test]
fn an_open_polyline_with_its_ends_together_is_a_loop() {
    let contours = made([(
        "0",
        Polyline::open([(0.0, 0.0, 0.0), (4.0, 0.0, 0.0), (4.0, 3.0, 0.0), (0.0, 0.0, 0.0)]),
    )]);
    assert_eq!(contours.list[0].role, Role::Outside);
    close(contours.list[0].area_mm2, 6.0);
}

#[test]
fn crumbs_no_longer_than_the_join_are_healed() {
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    curves[0].1 = line(0.0, 0.0, 10.0, -0.5e-3);
    curves.push(("0", line(10.0, -0.5e-3, 10.0, 0.0)));
    let contours = made(curves);
    assert_eq!(contours.list.len(), 1);
    assert_eq!(contours.list[0].polyline.vertices.len(), 4);
    assert_eq!(contours.facts.crumbs.iter().map(|c| c.count).sum::<usize>(), 1);
}

#[test]
fn uses_follow_layer_linetype_and_number() {
    let mut curves = sides(0.0, 0.0, 40.0, 40.0);
    curves.push(("HOLES", Polyline::circle(Point::new(20.0, 20.0), 5.0)));
    curves.push(("0", line(0.0, 20.0, 40.0, 20.0)));
    let mut drawing = drawing(curves);
    drawing.curves[5].origin.linetype = 1;
    let plain = build(&drawing, &Reading::default(), &Uses::default());
    let purposes: Vec<Use> = plain.list.iter().map(|c| c.purpose).collect();
    assert_eq!(purposes, [Use::Cut, Use::Cut, Use::Reference]);
    assert_eq!(plain.facts.styles_not_cut.len(), 1);

    // An existing outline still makes the hole in it an opening; a blank does not.
    for (purpose, role) in [(Use::Existing, Role::Opening), (Use::Blank, Role::Outside)] {
        let mut uses = Uses::default();
        uses.contours.insert(1, purpose);
        let contours = build(&drawing, &Reading::default(), &uses).list;
        assert_eq!(contours[0].purpose, purpose);
        assert_eq!(contours[1].role, role);
    }
    let uses = Uses {
        cut_layers: vec!["holes".to_owned()],
        ..Uses::default()
    };
    let contours = build(&drawing, &Reading::default(), &uses).list;
    assert_eq!(contours[0].purpose, Use::Reference);
    assert_eq!(contours[1].purpose, Use::Cut);
}

#[test]
fn a_contour_given_another_use_has_no_flaws() {
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    curves[0].1 = line(0.0, 0.0, 9.95, 0.0);
    curves.push(("0", line(10.0, 10.0, 12.0, 12.0)));
    curves.extend(sides(20.0, 0.0, 30.0, 10.0));
    let drawing = drawing(curves);
    let flawed = build(&drawing, &Reading::default(), &Uses::default());
    assert_eq!((flawed.facts.gaps.len(), flawed.facts.branches.len()), (1, 1));
    let mut uses = Uses::default();
    for contour in flawed.list.iter().filter(|contour| contour.bounds.max.x < 15.0) {
        uses.contours.insert(contour.id, Use::Reference);
    }
    let spared = build(&drawing, &Reading::default(), &uses);
    assert_eq!((spared.facts.gaps.len(), spared.facts.branches.len()), (0, 0));
}

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

fn moved(p: Point, angle: f64, dx: f64, dy: f64, mirror: bool) -> Point {
    let q = if mirror { Point::new(-p.x, p.y) } else { p };
    Point::default() + (q - Point::default()).turned(angle) + crate::geometry::Vector::new(dx, dy)
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

proptest! {
    #[test]
    fn moving_turning_mirroring_and_shuffling_change_nothing(
        angle in -PI..PI,
        dx in -1e4..1e4f64,
        dy in -1e4..1e4f64,
        mirror: bool,
        reversed in proptest::collection::vec(any::<bool>(), 11),
        order in Just((0..11).collect::<Vec<usize>>()).prop_shuffle(),
    ) {
        let plain = plate();
        let wanted = summary(&made(plain.iter().cloned().map(|p| ("0", p))));
        prop_assert_eq!(wanted.len(), 3);
        let turned = order.iter().map(|&i| {
            let vertices = plain[i].vertices.iter().map(|v| Vertex {
                at: moved(v.at, angle, dx, dy, mirror),
                bulge: if mirror { -v.bulge } else { v.bulge },
            }).collect();
            let polyline = Polyline { vertices, closed: plain[i].closed };
            ("0", if reversed[i] { polyline.reversed() } else { polyline })
        });
        let got = summary(&made(turned));
        prop_assert_eq!(wanted.len(), got.len());
        for ((wanted, depth), (got, got_depth)) in wanted.iter().zip(&got) {
            prop_assert_eq!(depth, got_depth);
            for (w, g) in wanted.iter().zip(got) {
                prop_assert!((w - g).abs() < 1e-7, "{:?} is not {:?}", got, wanted);
            }
        }
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

#[test]
fn overlapping_lines_are_cut_and_kept_once() {
    // The lower side is drawn as two lines that share 4 mm; a stray line repeats part of the left side.
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    curves[0].1 = line(0.0, 0.0, 7.0, 0.0);
    curves.push(("0", line(10.0, 0.0, 3.0, 0.0)));
    curves.push(("0", line(0.0, 2.0, 0.0, 6.0)));
    let contours = made(curves);
    assert_eq!(contours.list.len(), 1);
    close(contours.list[0].perimeter_mm, 40.0);
    close(contours.list[0].area_mm2, 100.0);
    let mut lengths: Vec<f64> = contours.facts.overlaps.iter().map(|o| o.length_mm).collect();
    lengths.sort_by(f64::total_cmp);
    assert_eq!(lengths, [4.0, 4.0]);
    assert!(contours.facts.overlaps.iter().all(|o| o.repaired));
    assert!(contours.facts.duplicate_curves.is_empty());
}

#[test]
fn overlapping_arcs_are_kept_once() {
    let circle = Polyline::circle(Point::new(0.0, 0.0), 5.0);
    let (upper, lower) = (circle.segment(0), circle.segment(1));
    let arc =
        |from: Point, to: Point, bulge: f64| Polyline::open([(from.x, from.y, bulge), (to.x, to.y, 0.0)]);
    let three_quarters = (3.0 * PI / 8.0).tan();
    let curves = [
        ("0", arc(upper.from, upper.to, 1.0)),
        ("0", arc(lower.at(0.5), upper.at(1.0 - 1e-16), three_quarters)),
        ("0", arc(lower.from, lower.to, 1.0)),
    ];
    let contours = made(curves);
    assert_eq!(contours.list.len(), 1, "{:?}", contours.facts);
    close(contours.list[0].perimeter_mm, 10.0 * PI);
}

#[test]
fn a_line_on_the_side_of_a_closed_curve_gives_way() {
    let rectangle = Polyline::closed([
        (0.0, 0.0, 0.0),
        (10.0, 0.0, 0.0),
        (10.0, 5.0, 0.0),
        (0.0, 5.0, 0.0),
    ]);
    let contours = made([("0", line(2.0, 0.0, 6.0, 0.0)), ("0", rectangle)]);
    assert_eq!(contours.list.len(), 1);
    assert!(contours.facts.overlaps[0].repaired);
    assert!(contours.facts.touches.is_empty());
}

#[test]
fn crossings_touches_and_shared_sides_are_told_apart() {
    let square = |x: f64, y: f64| {
        Polyline::closed([
            (x, y, 0.0),
            (x + 10.0, y, 0.0),
            (x + 10.0, y + 10.0, 0.0),
            (x, y + 10.0, 0.0),
        ])
    };
    let facts = made([("0", square(0.0, 0.0)), ("0", square(5.0, 5.0))]).facts;
    assert_eq!((facts.crossings.len(), facts.touches.len()), (2, 0));
    assert_eq!(facts.crossings[0].contours, (1, 2));
    // Corner on corner.
    let facts = made([("0", square(0.0, 0.0)), ("0", square(10.0, 10.0))]).facts;
    assert_eq!((facts.crossings.len(), facts.touches.len()), (0, 1));
    // Corner on the middle of a side.
    let diamond = Polyline::closed([
        (10.0, 5.0, 0.0),
        (13.0, 2.0, 0.0),
        (16.0, 5.0, 0.0),
        (13.0, 8.0, 0.0),
    ]);
    let facts = made([("0", square(0.0, 0.0)), ("0", diamond)]).facts;
    assert_eq!((facts.crossings.len(), facts.touches.len()), (0, 1));
    // Circles touching from outside, crossing in a lens, crossing in a lens thinner than the tolerance.
    for (apart, crossings, touches) in [(4.0, 0, 1), (3.9, 2, 0), (4.0 - 1e-4, 0, 1), (4.1, 0, 0)] {
        let circles = [0.0, apart].map(|x| ("0", Polyline::circle(Point::new(x, 0.0), 2.0)));
        let facts = made(circles).facts;
        assert_eq!(
            (facts.crossings.len(), facts.touches.len()),
            (crossings, touches),
            "{apart}"
        );
    }
    // A side in common.
    let facts = made([("0", square(0.0, 0.0)), ("0", square(10.0, 2.0))]).facts;
    assert_eq!(
        (facts.crossings.len(), facts.touches.len(), facts.overlaps.len()),
        (0, 0, 1)
    );
    close(facts.overlaps[0].length_mm, 8.0);
    assert!(!facts.overlaps[0].repaired);
}

#[test]
fn a_bow_tie_crosses_itself_and_tangent_joints_do_not() {
    let tie = Polyline::closed([
        (0.0, 0.0, 0.0),
        (10.0, 10.0, 0.0),
        (10.0, 0.0, 0.0),
        (0.0, 10.0, 0.0),
    ]);
    let facts = made([("0", tie)]).facts;
    assert_eq!(facts.self_crossings.len(), 1);
    assert!(facts.self_crossings[0].at.distance(Point::new(5.0, 5.0)) < 1e-12);
    // Rounded rectangle whose coordinates carry 6 decimals, as drawings do.
    let round = |v: f64| (v * 1e6).round() / 1e6;
    let quarter = (PI / 8.0).tan();
    let r = 1.0 / 3.0;
    let corners = [
        (r, 0.0, 0.0),
        (10.0 - r, 0.0, quarter),
        (10.0, r, 0.0),
        (10.0, 5.0 - r, quarter),
        (10.0 - r, 5.0, 0.0),
        (r, 5.0, quarter),
        (0.0, 5.0 - r, 0.0),
        (0.0, r, quarter),
    ];
    for turn in 0..20 {
        let mut rounded = Polyline::closed(corners.map(|(x, y, b)| {
            let p = moved(Point::new(x, y), f64::from(turn) * 0.3, 7.0, -3.0, false);
            (round(p.x), round(p.y), b)
        }));
        rounded.vertices.rotate_left(turn as usize % 8);
        let facts = made([("0", rounded)]).facts;
        assert!(
            facts.self_crossings.is_empty() && facts.touches.is_empty(),
            "{facts:?}"
        );
    }
}

#[test]
fn a_hole_drawn_twice_is_left_out_or_suspected() {
    let hole = Polyline::circle(Point::new(5.0, 5.0), 2.0);
    let mut in_quarters = hole.clone();
    in_quarters.vertices = hole
        .segments()
        .flat_map(|s| [s.from, s.at(0.5)])
        .map(|at| Vertex {
            at,
            bulge: (PI / 8.0).tan(),
        })
        .collect();
    let contours = made([("0", hole.clone()), ("0", in_quarters)]);
    assert_eq!(
        (contours.list[0].purpose, contours.list[1].purpose),
        (Use::Cut, Use::Ignore)
    );
    assert!(contours.facts.duplicate_contours[0].left_out);
    assert!(contours.facts.overlaps.is_empty() && contours.facts.touches.is_empty());
    let contours = made([("0", hole), ("0", Polyline::circle(Point::new(5.0, 5.01), 2.0))]);
    assert_eq!(contours.list.len(), 2);
    let double = contours.facts.duplicate_contours[0];
    assert!(!double.left_out && (double.distance_mm - 0.01).abs() < 1e-9);
}

/// Narrowest slot and thinnest wall of each contour.
fn widths(contours: &Contours) -> Vec<(f64, f64)> {
    let mm = |w: &Option<Box<Width>>| w.as_ref().map_or(f64::INFINITY, |w| w.width_mm);
    contours
        .list
        .iter()
        .map(|c| (mm(&c.narrowest_slot), mm(&c.thinnest_wall)))
        .collect()
}

#[test]
fn slots_and_walls_have_closed_forms() {
    let rectangle = |x0: f64, y0: f64, x1: f64, y1: f64| {
        Polyline::closed([(x0, y0, 0.0), (x1, y0, 0.0), (x1, y1, 0.0), (x0, y1, 0.0)])
    };
    let inf = f64::INFINITY;
    let check = |shapes: Vec<Polyline>, expected: &[(f64, f64)]| {
        let got = widths(&made(shapes.into_iter().map(|p| ("0", p))));
        assert_eq!(got.len(), expected.len());
        for (g, e) in got.iter().zip(expected) {
            let same = |a: f64, b: f64| a == b || (a - b).abs() < 1e-9;
            assert!(same(g.0, e.0) && same(g.1, e.1), "{got:?} is not {expected:?}");
        }
    };
    check(vec![rectangle(0.0, 0.0, 40.0, 20.0)], &[(inf, 20.0)]);
    check(vec![Polyline::circle(Point::new(3.0, 4.0), 5.0)], &[(inf, 10.0)]);
    // A plate with a slot 2 mm from its side and a hole 1.5 mm from the slot.
    check(
        vec![
            rectangle(0.0, 0.0, 40.0, 20.0),
            rectangle(2.0, 5.0, 2.3, 15.0),
            Polyline::circle(Point::new(6.8, 10.0), 3.0),
        ],
        &[(inf, 2.0), (0.3, 1.5), (6.0, 1.5)],
    );
    // Two holes whose walls are 0.7 mm apart along the line of their centres.
    check(
        vec![
            rectangle(-20.0, -20.0, 30.0, 30.0),
            Polyline::circle(Point::new(0.0, 0.0), 2.0),
            Polyline::circle(Point::new(3.0, 4.0), 2.3),
        ],
        &[(inf, 18.0), (4.0, 0.7), (4.6, 0.7)],
    );
    // A bay 0.4 mm wide between two horns, open above: slot 0.4; horns 1 mm wide.
    check(
        vec![Polyline::closed([
            (0.0, 0.0, 0.0),
            (2.4, 0.0, 0.0),
            (2.4, 10.0, 0.0),
            (1.4, 10.0, 0.0),
            (1.4, 5.0, 0.0),
            (1.0, 5.0, 0.0),
            (1.0, 10.0, 0.0),
            (0.0, 10.0, 0.0),
        ])],
        &[(0.4, 1.0)],
    );
    // A sharp corner is no slot, however sharp.
    check(
        vec![
            rectangle(-50.0, -50.0, 50.0, 50.0),
            Polyline::closed([(-20.0, -2.0, 0.0), (20.0, 0.0, 0.0), (-20.0, 2.0, 0.0)]),
        ],
        &[(inf, 30.0), (inf, 30.0)],
    );
    // A nose on the long wall of an opening comes within 0.25 mm of the other wall, off the middle.
    check(
        vec![
            Polyline::closed([
                (-1.0, -1.0, 0.0),
                (101.0, -1.0, 0.0),
                (101.0, 4.0, 0.0),
                (-1.0, 4.0, 0.0),
            ]),
            Polyline::closed([
                (0.0, 0.0, 0.0),
                (100.0, 0.0, 0.0),
                (100.0, 3.0, 0.0),
                (18.0, 3.0, 0.0),
                (17.3, 0.25, 0.0),
                (17.0, 3.0, 0.0),
                (0.0, 3.0, 0.0),
            ]),
        ],
        &[(inf, 1.0), (0.25, 1.0)],
    );
}

#[test]
fn every_narrow_place_is_listed_once() {
    // A comb of ten teeth: nine gaps of 0.3 mm, teeth 0.5 mm wide.
    let mut corners = vec![(0.0, -5.0, 0.0), (10.0 * 0.8 - 0.3, -5.0, 0.0)];
    for tooth in (0..10).rev() {
        let x = f64::from(tooth) * 0.8;
        corners.extend([
            (x + 0.5, 0.0, 0.0),
            (x + 0.5, 4.0, 0.0),
            (x, 4.0, 0.0),
            (x, 0.0, 0.0),
        ]);
    }
    let contours = made([("0", Polyline::closed(corners))]);
    assert_eq!(contours.facts.narrow_slots.len(), 9);
    assert_eq!(contours.facts.thin_walls.len(), 10);
    for width in &contours.facts.narrow_slots {
        close(width.width_mm, 0.3);
    }
}
