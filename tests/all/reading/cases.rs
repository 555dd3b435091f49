//! One test for each case that the reader alone can answer. What the curves measure is asked elsewhere.

use kerfwright::dxf::document::{NoticeKind, Shape, fold_name};

use super::{case, count_by_type, notices, only};

#[test]
fn t07_a_number_may_have_an_exponent() {
    let Shape::Line { to, .. } = only(&case("t07_exp_float.dxf")).shape else {
        panic!("a line was expected");
    };
    assert_eq!(to, [10.5, 0.0, 0.0]);
}

#[test]
fn t08_layers_that_are_off_or_frozen_are_told_apart() {
    let document = case("t08_layer_off_frozen.dxf");
    let flags: Vec<_> = document
        .layers
        .iter()
        .map(|layer| (layer.name.as_str(), layer.off, layer.frozen, layer.color))
        .collect();
    assert_eq!(
        flags,
        [
            ("ON", false, false, 7),
            ("OFF", true, false, 7),
            ("FRZ", false, true, 7)
        ]
    );
    let of_entities: Vec<_> = document.entities.iter().map(|entity| entity.layer).collect();
    assert_eq!(of_entities, [0, 1, 2]);
}

#[test]
fn t09_t10_extrusions_are_read_as_written() {
    assert_eq!(only(&case("t09_arc_mirror.dxf")).extrusion, [0.0, 0.0, -1.0]);
    assert_eq!(
        only(&case("t10_arc_mirror_tiny.dxf")).extrusion,
        [1.2e-17, -3e-17, -1.0]
    );
}

#[test]
fn t11_an_insert_keeps_its_array_scale_and_turn() {
    let document = case("t11_insert_array.dxf");
    let Shape::Insert(insert) = &only(&document).shape else {
        panic!("an insert was expected");
    };
    assert_eq!((insert.columns, insert.rows), (3, 2));
    assert_eq!((insert.column_spacing, insert.row_spacing), (10.0, 20.0));
    assert_eq!((insert.scale, insert.rotation_deg), ([2.0; 3], 30.0));
}

#[test]
fn t12_a_block_keeps_its_base_point() {
    let document = case("t12_insert_nonuniform.dxf");
    assert_eq!(document.blocks[0].base, [1.0, 1.0, 0.0]);
    assert_eq!(document.blocks[0].entities.len(), 2);
}

#[test]
fn t13_a_missing_scale_is_one() {
    let document = case("t13_insert_scale0_missing.dxf");
    let Shape::Insert(insert) = &only(&document).shape else {
        panic!("an insert was expected");
    };
    assert_eq!(insert.scale, [1.0; 3]);
}

#[test]
fn t14_blocks_that_insert_each_other_are_not_expanded() {
    let document = case("t14_cyclic_block.dxf");
    assert_eq!(
        document
            .blocks
            .iter()
            .map(|block| block.entities.len())
            .collect::<Vec<_>>(),
        [2, 1]
    );
}

#[test]
fn t15_a_missing_bulge_is_zero() {
    let document = case("t15_lw_no_bulge_some.dxf");
    let Shape::LwPolyline(line) = &only(&document).shape else {
        panic!("a polyline was expected");
    };
    assert!(line.closed);
    let bulges: Vec<f64> = line.vertices.iter().map(|vertex| vertex[2]).collect();
    assert_eq!(bulges, [0.0, 0.414_213_562_373_095_03, 0.0, 0.0]);
}

#[test]
fn t16_a_wrong_vertex_count_is_noticed_and_the_vertices_are_used() {
    let document = case("t16_lw_count_wrong.dxf");
    let Shape::LwPolyline(line) = &only(&document).shape else {
        panic!("a polyline was expected");
    };
    assert_eq!((line.vertices.len(), line.declared_vertices), (3, Some(99)));
    assert_eq!(
        notices(&document),
        [NoticeKind::CountDiffers("LWPOLYLINE vertices", 99, 3)]
    );
}

#[test]
fn t17_t18_paper_space_and_invisible_entities_are_marked() {
    let document = case("t17_paperspace67.dxf");
    assert_eq!(
        document
            .entities
            .iter()
            .map(|entity| entity.paper_space)
            .collect::<Vec<_>>(),
        [false, true]
    );
    let document = case("t18_invisible60.dxf");
    assert_eq!(
        document
            .entities
            .iter()
            .map(|entity| entity.invisible)
            .collect::<Vec<_>>(),
        [false, true]
    );
}

#[test]
fn t19_unknown_entities_are_kept_by_name() {
    let counts = count_by_type(&case("t19_unknown_entity.dxf"));
    let expected = [("ACAD_PROXY_ENTITY", 1), ("FOOBAR", 1), ("LINE", 2)];
    assert_eq!(
        counts
            .iter()
            .map(|(name, count)| (name.as_str(), *count))
            .collect::<Vec<_>>(),
        expected
    );
}

#[test]
fn t20_a_version_with_a_long_maintenance_number_is_read() {
    let document = case("t20_r2018_maint90.dxf");
    assert_eq!(document.header.version, "AC1032");
    assert_eq!(document.header.insunits, Some(4));
    assert_eq!(document.entities.len(), 1);
}

#[test]
fn t21_a_spline_of_fit_points_has_them_and_nothing_else() {
    let document = case("t21_fit_spline.dxf");
    let Shape::Spline(spline) = &only(&document).shape else {
        panic!("a spline was expected");
    };
    assert_eq!((spline.degree, spline.fit_points.len()), (3, 4));
    assert_eq!(spline.fit_points[3], [30.0, 5.0, 0.0]);
    assert!(spline.control.is_empty() && spline.knots.is_empty());
    assert_eq!(notices(&document), []);
}

#[test]
fn t22_a_rational_spline_keeps_its_weights() {
    let document = case("t22_rational_circle.dxf");
    let Shape::Spline(spline) = &only(&document).shape else {
        panic!("a spline was expected");
    };
    assert_eq!(
        (spline.knots.len(), spline.control.len(), spline.weights.len()),
        (12, 9, 9)
    );
    assert_eq!(spline.weights[1], 0.5_f64.sqrt());
    assert_eq!(spline.declared, [Some(12), Some(9), None]);
    assert_eq!(notices(&document), []);
}

#[test]
fn t23_t24_units_are_told_as_the_file_tells_them() {
    assert_eq!(case("t23_units_code_garbage.dxf").header.insunits, Some(99));
    assert_eq!(case("t24_no_header_units.dxf").header.insunits, None);
}

#[test]
fn t25_vertices_of_a_spline_fit_polyline_carry_their_flags() {
    let document = case("t25_polyline_splinefit.dxf");
    let Shape::Polyline(line) = &only(&document).shape else {
        panic!("a polyline was expected");
    };
    assert_eq!(line.flags, 4);
    let flags: Vec<i32> = line.vertices.iter().map(|vertex| vertex.flags).collect();
    assert_eq!(flags, [16, 16, 16, 8, 8, 8, 8, 8]);
    assert_eq!(line.vertices[4].at, [2.5, 3.4, 0.0]);
}

#[test]
fn t26_a_zero_radius_is_left_to_be_judged() {
    let document = case("t26_neg_radius_zero.dxf");
    assert!(matches!(
        document.entities[0].shape,
        Shape::Circle { radius: 0.0, .. }
    ));
    assert_eq!(document.entities.len(), 2);
}

#[test]
fn t28_a_mirrored_ellipse_is_read_as_written() {
    let document = case("t28_ellipse_mirror.dxf");
    let entity = only(&document);
    assert_eq!(entity.extrusion, [0.0, 0.0, -1.0]);
    let Shape::Ellipse(ellipse) = &entity.shape else {
        panic!("an ellipse was expected");
    };
    assert_eq!((ellipse.major, ellipse.ratio), ([10.0, 0.0, 0.0], 0.5));
    assert_eq!(
        (ellipse.start_rad, ellipse.end_rad),
        (0.0, std::f64::consts::FRAC_PI_2)
    );
}

#[test]
fn t29_block_names_compare_without_case() {
    let document = case("t29_blockname_case.dxf");
    let Shape::Insert(insert) = &only(&document).shape else {
        panic!("an insert was expected");
    };
    assert_ne!(insert.block, document.blocks[0].name);
    assert_eq!(fold_name(&insert.block), fold_name(&document.blocks[0].name));
}

#[test]
fn t31_a_new_entity_in_an_old_version_without_markers_is_read() {
    let document = case("t31_lw_no_subclass_r12.dxf");
    assert_eq!(document.header.version, "AC1009");
    assert!(
        matches!(&only(&document).shape, Shape::LwPolyline(line) if line.vertices.len() == 3 && line.closed)
    );
}

#[test]
fn t32_the_content_of_a_block_keeps_its_own_layers() {
    let document = case("t32_byblock_off.dxf");
    let layer = |index: u32| document.layers[index as usize].name.as_str();
    let content: Vec<_> = document.blocks[0]
        .entities
        .iter()
        .map(|entity| layer(entity.layer))
        .collect();
    assert_eq!(content, ["0", "P"]);
    assert_eq!(layer(only(&document).layer), "OFF");
    let zero = document
        .layers
        .iter()
        .find(|layer| layer.name == "0")
        .expect("layer 0 is used");
    assert!(!zero.declared && !zero.off);
}

#[test]
fn t33_angles_are_read_as_written() {
    let document = case("t33_arc_negative_angles.dxf");
    assert!(matches!(
        only(&document).shape,
        Shape::Arc {
            start_deg: -90.0,
            end_deg: 450.0,
            ..
        }
    ));
}

/// The line from 0,0 to 3,0 that these cases hold.
fn assert_the_line_is_there(name: &str) {
    let document = case(name);
    assert_eq!(document.header.insunits, Some(4), "{name}");
    let Shape::Line { from, to } = only(&document).shape else {
        panic!("{name}: a line was expected");
    };
    assert_eq!((from, to), ([0.0; 3], [3.0, 0.0, 0.0]), "{name}");
    assert_eq!(notices(&document), [], "{name}");
}

#[test]
fn t30_comments_are_passed_over() {
    assert_the_line_is_there("t30_comment999.dxf");
}

#[test]
fn t42_lines_may_end_with_cr_alone() {
    assert_the_line_is_there("t42_cr_only.dxf");
}

#[test]
fn t45_a_blank_line_may_come_first() {
    assert_the_line_is_there("t45_leading_blank.dxf");
}

#[test]
fn t47_a_ctrl_z_may_come_last() {
    assert_the_line_is_there("t47_ctrlz_trailing.dxf");
}
