//! Ends that meet, part and repeat.

use std::f64::consts::PI;

use super::super::*;
use super::{close, drawing, line, made, sides};
use crate::geometry::Vertex;

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
    let open = build(&drawing, &Reading::default(), &Purposes::default());
    assert_eq!(open.list[0].role, Role::Open);
    assert_eq!(open.facts.gaps.len(), 1);
    close(open.facts.gaps[0].size_mm, 0.05);
    let reading = Reading {
        join_mm: 0.1,
        ..Reading::default()
    };
    let closed = build(&drawing, &reading, &Purposes::default());
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
        (Purpose::Cut, Purpose::Ignore)
    );
    assert!(contours.facts.duplicate_contours[0].left_out);
    assert!(contours.facts.overlaps.is_empty() && contours.facts.touches.is_empty());
    let contours = made([("0", hole), ("0", Polyline::circle(Point::new(5.0, 5.01), 2.0))]);
    assert_eq!(contours.list.len(), 2);
    let double = contours.facts.duplicate_contours[0];
    assert!(!double.left_out && (double.distance_mm - 0.01).abs() < 1e-9);
}

/// Coordinates that were rounded when the file was made leave ends nanometres apart: they are one vertex up to the join
/// tolerance, and beyond it the gap is shown.
#[test]
fn loops_close_over_what_rounding_leaves_apart() {
    for (off, closes) in [
        (1e-12, true),
        (5e-9, true),
        (2e-7, true),
        (0.9e-3, true),
        (1.1e-3, false),
    ] {
        let mut curves = sides(0.0, 0.0, 40.0, 20.0);
        curves[0].1 = line(0.0, 0.0, 40.0 - off, 0.0);
        let contours = made(curves);
        assert_eq!(contours.list.len(), 1, "{off}");
        assert_eq!(contours.list[0].role != Role::Open, closes, "{off}");
        assert_eq!(contours.facts.gaps.len(), usize::from(!closes), "{off}");
        if closes {
            assert!(
                (contours.list[0].area_mm2 - 800.0).abs() <= 20.0 * off + 1e-9,
                "{off}"
            );
        }
    }
}

#[test]
fn what_lies_too_deep_is_named_at_once() {
    let square = |i: usize| {
        let half = 1.0 + i as f64;
        Polyline::closed([
            (-half, -half, 0.0),
            (half, -half, 0.0),
            (half, half, 0.0),
            (-half, half, 0.0),
        ])
    };
    let mut list: Vec<Contour> = made([("0", square(0))]).list;
    for i in 1..=DEEPEST_NEST + 1 {
        let polyline = square(i);
        list.push(Contour {
            id: ContourId::from_index(i),
            bounds: polyline.bounds(),
            area_mm2: polyline.area(),
            polyline,
            ..list[0].clone()
        });
    }
    // The innermost lies in one more than may be; the next one in as many as may.
    assert_eq!(nest::place(&mut list), Err(ContourId::from_index(0)));
    list.pop();
    assert_eq!(nest::place(&mut list), Ok(()));
    assert_eq!(list[0].depth, DEEPEST_NEST);
    // Of a tangle nothing is said but that all are outsides, save where a side is given.
    list.truncate(4);
    list[1].side_from = SideFrom::Given;
    list[1].role = Role::Opening;
    list[2].polyline.closed = false;
    list[2].role = Role::Open;
    nest::leave_apart(&mut list);
    assert_eq!(
        [0, 1, 2, 3].map(|i| list[i].role),
        [Role::Outside, Role::Opening, Role::Open, Role::Outside]
    );
    assert!(list.iter().all(|c| c.depth == 0 && c.parent.is_none()));
}
