//! What a contour is for, and which side of it is kept.

use std::f64::consts::PI;

use super::super::*;
use super::{close, drawing, line, made, sides};

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
            (1, Some(ContourId::nth(1)), Role::Opening),
            (2, Some(ContourId::nth(2)), Role::Outside),
            (3, Some(ContourId::nth(3)), Role::Opening),
        ]
    );
    assert_eq!(contours[1].sharp_inside_corners.len(), 4);
    close(contours[1].sharp_inside_corners[0].angle_rad, PI / 2.0);
    assert_eq!(contours[1].min_inside_radius_mm, Some(0.0));
    assert_eq!(contours[2].min_inside_radius_mm, None);
    close(contours[3].min_inside_radius_mm.unwrap_or_default(), 2.0);
}

#[test]
fn uses_follow_layer_linetype_and_number() {
    let mut curves = sides(0.0, 0.0, 40.0, 40.0);
    curves.push(("HOLES", Polyline::circle(Point::new(20.0, 20.0), 5.0)));
    curves.push(("0", line(0.0, 20.0, 40.0, 20.0)));
    let mut drawing = drawing(curves);
    drawing.curves[5].origin.linetype = 1;
    let plain = build(&drawing, &Reading::default(), &Purposes::default());
    let purposes: Vec<Purpose> = plain.list.iter().map(|c| c.purpose).collect();
    assert_eq!(purposes, [Purpose::Cut, Purpose::Cut, Purpose::Reference]);
    assert_eq!(plain.facts.styles_not_cut.len(), 1);

    // An existing outline still makes the hole in it an opening; a blank does not.
    for (purpose, role) in [
        (Purpose::Existing, Role::Opening),
        (Purpose::Blank, Role::Outside),
    ] {
        let mut uses = Purposes::default();
        uses.contours.insert(ContourId::nth(1), purpose);
        let contours = build(&drawing, &Reading::default(), &uses).list;
        assert_eq!(contours[0].purpose, purpose);
        assert_eq!(contours[1].role, role);
    }
    let uses = Purposes {
        cut_layers: vec!["holes".to_owned()],
        ..Purposes::default()
    };
    let contours = build(&drawing, &Reading::default(), &uses).list;
    assert_eq!(
        (contours[0].purpose, contours[0].role),
        (Purpose::NotNow, Role::Outside)
    );
    assert_eq!(
        (contours[1].purpose, contours[1].role),
        (Purpose::Cut, Role::Opening)
    );
    // A broken line on a layer that is left out is no edge.
    assert_eq!(contours[2].purpose, Purpose::Reference);
}

#[test]
fn a_contour_given_another_use_has_no_flaws() {
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    curves[0].1 = line(0.0, 0.0, 9.95, 0.0);
    curves.push(("0", line(10.0, 10.0, 12.0, 12.0)));
    curves.extend(sides(20.0, 0.0, 30.0, 10.0));
    let drawing = drawing(curves);
    let flawed = build(&drawing, &Reading::default(), &Purposes::default());
    assert_eq!((flawed.facts.gaps.len(), flawed.facts.branches.len()), (1, 1));
    let mut uses = Purposes::default();
    for contour in flawed.list.iter().filter(|contour| contour.bounds.max.x < 15.0) {
        uses.contours.insert(contour.id, Purpose::Reference);
    }
    let spared = build(&drawing, &Reading::default(), &uses);
    assert_eq!((spared.facts.gaps.len(), spared.facts.branches.len()), (0, 0));
}

#[test]
fn a_contour_made_cut_by_its_number_is_searched_like_the_others() {
    let mut curves = sides(0.0, 0.0, 10.0, 10.0);
    // A square on a layer for orientation crosses the one to be cut and stops short of itself; a circle crosses both.
    curves.extend(
        sides(5.0, 5.0, 15.0, 15.0)
            .into_iter()
            .map(|(_, side)| ("AXES", side)),
    );
    curves[7].1 = line(5.0, 5.3, 5.0, 15.0);
    curves.push(("AXES", Polyline::circle(Point::new(10.0, 10.0), 1.0)));
    let drawing = drawing(curves);
    let mut uses = Purposes {
        cut_layers: vec!["0".to_owned()],
        ..Purposes::default()
    };
    let plain = build(&drawing, &Reading::default(), &uses);
    assert_eq!((plain.facts.crossings.len(), plain.facts.gaps.len()), (0, 0));
    uses.contours.insert(ContourId::nth(2), Purpose::Cut);
    let cut = build(&drawing, &Reading::default(), &uses);
    let pairs: Vec<_> = cut
        .facts
        .crossings
        .iter()
        .map(|contact| contact.contours)
        .collect();
    assert_eq!(pairs, [(ContourId::nth(1), ContourId::nth(2)); 2]);
    assert_eq!(cut.facts.gaps.len(), 1);
    close(cut.facts.gaps[0].size_mm, 0.3);
}
