//! What each entity type says, field by field.

use kerfwright::dxf::document::{HeavyVertex, NoticeKind, Shape};

use super::{drawing, notices, only};

fn shape(entity: &str) -> Shape {
    only(&drawing(&format!("0 {entity}"))).shape.clone()
}

#[test]
fn what_all_entities_have() {
    let document = drawing("0 LINE 5 2A 8 A 6 HIDDEN 62 3 60 1 67 1 210 0 220 1 230 0 10 0 20 0 11 1 21 0");
    let entity = only(&document);
    assert_eq!((entity.handle, entity.color, entity.line), (0x2A, 3, 6));
    assert!(entity.invisible && entity.paper_space);
    assert_eq!(entity.extrusion, [0.0, 1.0, 0.0]);
    assert_eq!(document.linetypes[entity.linetype as usize], "HIDDEN");
}

#[test]
fn what_is_absent_takes_its_default() {
    let document = drawing("0 POINT 10 0 20 0");
    let entity = only(&document);
    assert_eq!((entity.handle, entity.color, entity.linetype), (0, 256, 0));
    assert!(!entity.invisible && !entity.paper_space);
    assert_eq!(entity.extrusion, [0.0, 0.0, 1.0]);
    assert_eq!(document.layers[entity.layer as usize].name, "0");
}

#[test]
fn line_in_any_order_of_groups() {
    let Shape::Line { from, to } = shape("LINE 10 1 11 4 20 2 21 5 30 3 31 6") else {
        panic!("a line was expected");
    };
    assert_eq!((from, to), ([1.0, 2.0, 3.0], [4.0, 5.0, 6.0]));
    let document = drawing("0 3DLINE 10 1 20 2 11 4 21 5 31 6");
    assert_eq!(only(&document).shape.type_name(), "LINE");
}

#[test]
fn arc_and_circle() {
    assert!(matches!(
        shape("ARC 10 1 20 2 30 3 40 4 50 5 51 6"),
        Shape::Arc {
            center: [1.0, 2.0, 3.0],
            radius: 4.0,
            start_deg: 5.0,
            end_deg: 6.0
        }
    ));
    assert!(matches!(
        shape("CIRCLE 10 1 20 2 30 3 40 -4"),
        Shape::Circle {
            center: [1.0, 2.0, 3.0],
            radius: -4.0
        }
    ));
}

#[test]
fn ellipse_is_whole_without_its_ends() {
    let Shape::Ellipse(ellipse) = shape("ELLIPSE 10 1 20 2 30 3 11 4 21 5 31 6 40 0.5") else {
        panic!("an ellipse was expected");
    };
    assert_eq!(
        (ellipse.center, ellipse.major, ellipse.ratio),
        ([1.0, 2.0, 3.0], [4.0, 5.0, 6.0], 0.5)
    );
    assert_eq!((ellipse.start_rad, ellipse.end_rad), (0.0, std::f64::consts::TAU));
}

#[test]
fn lwpolyline() {
    let Shape::LwPolyline(line) =
        shape("LWPOLYLINE 90 2 70 128 38 9 10 1 20 2 40 0.1 41 0.1 42 0.5 91 7 10 3 20 4")
    else {
        panic!("a polyline was expected");
    };
    assert_eq!(line.vertices, [[1.0, 2.0, 0.5], [3.0, 4.0, 0.0]]);
    assert_eq!((line.closed, line.elevation), (false, 9.0));
}

#[test]
fn polyline_with_vertices() {
    let Shape::Polyline(line) = shape(
        "POLYLINE 66 1 10 0 20 0 30 9 70 1 0 VERTEX 8 A 5 7 10 1 20 2 30 9 42 0.5 0 VERTEX 10 3 20 4 70 1 0 SEQEND 8 0",
    ) else {
        panic!("a polyline was expected");
    };
    assert_eq!((line.flags, line.elevation), (1, 9.0));
    let vertex = |vertex: &HeavyVertex| (vertex.at, vertex.bulge, vertex.flags);
    assert_eq!(
        line.vertices.iter().map(vertex).collect::<Vec<_>>(),
        [([1.0, 2.0, 9.0], 0.5, 0), ([3.0, 4.0, 0.0], 0.0, 1)]
    );
}

#[test]
fn faces_of_a_polyface_need_no_place() {
    let Shape::Polyline(mesh) =
        shape("POLYLINE 66 1 70 64 0 VERTEX 10 1 20 2 70 192 0 VERTEX 70 128 71 1 0 SEQEND")
    else {
        panic!("a polyline was expected");
    };
    assert_eq!(mesh.vertices.len(), 2);
}

#[test]
fn spline_of_control_points() {
    let document = drawing(
        "0 SPLINE 70 8 71 1 72 4 73 3 40 0 40 0 40 1 40 1 10 1 20 2 30 3 41 1 10 4 20 5 41 1 12 1 22 0 13 0 23 1 33 2",
    );
    let Shape::Spline(spline) = &only(&document).shape else {
        panic!("a spline was expected");
    };
    assert_eq!((spline.degree, spline.flags), (1, 8));
    assert_eq!(spline.knots, [0.0, 0.0, 1.0, 1.0]);
    assert_eq!(spline.control, [[1.0, 2.0, 3.0], [4.0, 5.0, 0.0]]);
    assert_eq!(spline.weights, [0.0; 0], "weights that are all 1 say nothing");
    assert_eq!(
        (spline.start_tangent, spline.end_tangent),
        (Some([1.0, 0.0, 0.0]), Some([0.0, 1.0, 2.0]))
    );
    assert_eq!(
        notices(&document),
        [NoticeKind::CountDiffers("SPLINE control points", 3, 2)]
    );
}

#[test]
fn mline_elements_lie_along_the_mitre() {
    let Shape::Mline(mline) = shape(
        "MLINE 2 STANDARD 40 1 70 0 71 3 72 2 73 2 10 0 20 0 30 0 \
         11 0 21 0 31 0 12 1 22 0 32 0 13 0 23 1 33 0 74 2 41 0.5 41 0 75 0 74 2 41 -0.5 41 0 75 0 \
         11 10 21 0 31 0 12 1 22 0 32 0 13 1 23 1 33 0 74 4 41 0.5 41 0 41 2 41 3 75 1 42 9 74 2 41 -0.5 41 0 75 0",
    ) else {
        panic!("an mline was expected");
    };
    assert!(mline.closed && mline.broken);
    assert_eq!(
        mline.vertices,
        [
            [[0.0, 0.5, 0.0], [0.0, -0.5, 0.0]],
            [[10.5, 0.5, 0.0], [9.5, -0.5, 0.0]]
        ]
    );
}

#[test]
fn an_mline_whose_elements_do_not_add_up_is_left_out_and_said() {
    let document = drawing("0 MLINE 71 1 72 1 73 2 11 0 21 0 13 0 23 1 74 2 41 0.5 41 0");
    assert_eq!(only(&document).shape.type_name(), "MLINE");
    assert!(matches!(only(&document).shape, Shape::Other(_)));
    assert_eq!(
        notices(&document),
        [NoticeKind::CountDiffers("MLINE elements", 2, 1)]
    );
}

#[test]
fn texts_say_what_they_say() {
    for (entity, kind, text) in [
        ("TEXT 10 1 20 2 40 5 1 R5", "TEXT", "R5"),
        (
            "MTEXT 10 1 20 2 3 first 3 second 1 last",
            "MTEXT",
            "firstsecondlast",
        ),
        ("ATTDEF 10 1 20 2 1 value 3 prompt 2 TAG", "ATTDEF", "value"),
    ] {
        let Shape::Text(found) = shape(entity) else {
            panic!("a text was expected");
        };
        assert_eq!(
            (&*found.kind, found.text.as_str(), found.at),
            (kind, text, [1.0, 2.0, 0.0])
        );
    }
}

#[test]
fn the_type_of_any_other_entity_is_kept_in_capitals() {
    assert!(matches!(shape("Hatch 10 x 20 y"), Shape::Other(kind) if &*kind == "HATCH"));
}
