//! Cases spoilt at random: whatever comes, the reader answers, and a document keeps what it guarantees.

use std::sync::OnceLock;

use kerfwright::dxf;
use kerfwright::dxf::document::{Document, Entity, Shape};
use proptest::prelude::*;

use crate::common::fixture;
use crate::random::cases;

fn spoilt() -> &'static [Vec<u8>] {
    static CASES: OnceLock<Vec<Vec<u8>>> = OnceLock::new();
    CASES.get_or_init(|| {
        let mut paths: Vec<_> = std::fs::read_dir(fixture("cases"))
            .expect("the folder fixtures/cases")
            .map(|entry| entry.expect("an entry of the folder").path())
            .collect();
        paths.sort();
        paths
            .iter()
            .map(|path| std::fs::read(path).expect("a file of the folder"))
            .collect()
    })
}

fn numbers(entity: &Entity) -> Vec<f64> {
    let mut numbers = entity.extrusion.to_vec();
    match &entity.shape {
        Shape::Line { from, to } => numbers.extend([from, to].into_iter().flatten()),
        Shape::Arc {
            center,
            radius,
            start_deg,
            end_deg,
        } => {
            numbers.extend(center);
            numbers.extend([radius, start_deg, end_deg]);
        }
        Shape::Circle { center, radius } => {
            numbers.extend(center);
            numbers.push(*radius);
        }
        Shape::LwPolyline(line) => numbers.extend(line.vertices.as_flattened()),
        Shape::Polyline(line) => {
            numbers.extend(
                line.vertices
                    .iter()
                    .flat_map(|vertex| vertex.at.into_iter().chain([vertex.bulge])),
            );
        }
        Shape::Ellipse(ellipse) => {
            numbers.extend([ellipse.center, ellipse.major].as_flattened());
            numbers.extend([ellipse.ratio, ellipse.start_rad, ellipse.end_rad]);
        }
        Shape::Spline(spline) => {
            numbers.extend(spline.knots.iter().chain(&spline.weights));
            numbers.extend(spline.control.iter().chain(&spline.fit_points).flatten());
        }
        Shape::Insert(insert) => {
            numbers.extend([insert.at, insert.scale].as_flattened());
            numbers.extend([insert.rotation_deg, insert.column_spacing, insert.row_spacing]);
        }
        Shape::Mline(mline) => numbers.extend(mline.vertices.iter().flatten().flatten()),
        Shape::Point { at } => numbers.extend(at),
        Shape::Text(text) => numbers.extend(text.at),
        Shape::Other(_) => {}
    }
    numbers
}

fn keeps_its_guarantees(document: &Document) -> bool {
    let of_blocks = document.blocks.iter().flat_map(|block| &block.entities);
    document.entities.iter().chain(of_blocks).all(|entity| {
        (entity.layer as usize) < document.layers.len()
            && (entity.linetype as usize) < document.linetypes.len()
            && numbers(entity).iter().all(|number| number.is_finite())
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases(2000)))]

    #[test]
    fn spoilt_cases_are_read_or_refused(
        case in 0..spoilt().len(),
        spoilings in prop::collection::vec((any::<prop::sample::Index>(), 0..4_u8, any::<u8>()), 1..5),
    ) {
        let mut bytes = spoilt()[case].clone();
        for (place, how, byte) in spoilings {
            if bytes.is_empty() {
                break;
            }
            let at = place.index(bytes.len());
            match how {
                0 => bytes[at] = byte,
                1 => bytes.truncate(at),
                2 => drop(bytes.drain(at..(at + usize::from(byte % 16)).min(bytes.len()))),
                _ => bytes.extend_from_within(at..(at + usize::from(byte)).min(bytes.len())),
            }
        }
        if let Ok(document) = dxf::read(&bytes) {
            prop_assert!(keeps_its_guarantees(&document));
        }
    }
}
