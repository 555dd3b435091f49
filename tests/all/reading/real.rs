//! Drawings from public repositories, and the `dxf` crate as a second opinion on them. The folder is named by
//! `KERFWRIGHT_REAL_DRAWINGS`; without it these tests say that they have not run.

use std::collections::{BTreeMap, BTreeSet};

use dxf_crate::entities::EntityType;
use kerfwright::dxf;

use super::count_by_type;
use crate::common::{file_name, fixture, real_drawings};

/// How the crate counts, by the names that DXF gives the types.
fn count_by_crate(bytes: &[u8]) -> Result<BTreeMap<String, usize>, String> {
    let drawing =
        dxf_crate::Drawing::load(&mut std::io::Cursor::new(bytes)).map_err(|error| error.to_string())?;
    let mut counts = BTreeMap::new();
    let mut count = |name: &str, times: usize| {
        if times > 0 {
            *counts.entry(name.to_owned()).or_default() += times;
        }
    };
    for entity in drawing.entities() {
        match &entity.specific {
            EntityType::Insert(insert) => {
                count("INSERT", 1);
                count("ATTRIB", insert.attributes().count());
            }
            other => count(crate_name(other), 1),
        }
    }
    Ok(counts)
}

fn crate_name(entity: &EntityType) -> &'static str {
    match entity {
        EntityType::Face3D(_) => "3DFACE",
        EntityType::Solid3D(_) => "3DSOLID",
        EntityType::ProxyEntity(_) => "ACAD_PROXY_ENTITY",
        EntityType::Arc(_) => "ARC",
        EntityType::AttributeDefinition(_) => "ATTDEF",
        EntityType::Attribute(_) => "ATTRIB",
        EntityType::Circle(_) => "CIRCLE",
        EntityType::RotatedDimension(_)
        | EntityType::RadialDimension(_)
        | EntityType::DiameterDimension(_)
        | EntityType::AngularThreePointDimension(_)
        | EntityType::OrdinateDimension(_) => "DIMENSION",
        EntityType::Ellipse(_) => "ELLIPSE",
        EntityType::Image(_) => "IMAGE",
        EntityType::Insert(_) => "INSERT",
        EntityType::Leader(_) => "LEADER",
        EntityType::Line(_) => "LINE",
        EntityType::LwPolyline(_) => "LWPOLYLINE",
        EntityType::MLine(_) => "MLINE",
        EntityType::MText(_) => "MTEXT",
        EntityType::ModelPoint(_) => "POINT",
        EntityType::Polyline(_) => "POLYLINE",
        EntityType::Ray(_) => "RAY",
        EntityType::Region(_) => "REGION",
        EntityType::Shape(_) => "SHAPE",
        EntityType::Solid(_) => "SOLID",
        EntityType::Spline(_) => "SPLINE",
        EntityType::Text(_) => "TEXT",
        EntityType::Tolerance(_) => "TOLERANCE",
        EntityType::Trace(_) => "TRACE",
        EntityType::PdfUnderlay(_) => "PDFUNDERLAY",
        EntityType::Wipeout(_) => "WIPEOUT",
        EntityType::XLine(_) => "XLINE",
        _ => "(another)",
    }
}

#[test]
fn real_drawings_are_read_or_refused_with_a_reason() {
    let Some(paths) = real_drawings() else {
        return;
    };
    let mut refused = BTreeMap::new();
    for path in &paths {
        let bytes = std::fs::read(path).expect("a file of the folder");
        if let Err(error) = dxf::read(&bytes) {
            refused.insert(file_name(path), error.to_string());
        }
    }
    println!(
        "{} drawings read, {} refused",
        paths.len() - refused.len(),
        refused.len()
    );
    let names: BTreeSet<String> = paths.iter().map(|path| file_name(path)).collect();
    let expected: BTreeMap<String, String> = table("real-refused.tsv")
        .into_iter()
        .filter(|row| names.contains(&row[0]))
        .map(|row| (row[0].clone(), row[1].clone()))
        .collect();
    assert_eq!(refused, expected);
}

/// Each file and type on which the two readers differ stands in the table, with the reason why.
#[test]
fn every_difference_from_the_dxf_crate_is_explained() {
    let Some(paths) = real_drawings() else {
        return;
    };
    let mut found = BTreeSet::new();
    let mut agreed = 0;
    for path in &paths {
        let bytes = std::fs::read(path).expect("a file of the folder");
        let ours = dxf::read(&bytes).map(|document| count_by_type(&document));
        let theirs = count_by_crate(&bytes);
        let name = file_name(path);
        let mut differ = |kind: &str, ours: String, theirs: String| {
            found.insert([name.clone(), kind.to_owned(), ours, theirs]);
        };
        match (ours, theirs) {
            (Ok(ours), Ok(theirs)) => {
                let kinds: BTreeSet<&String> = ours.keys().chain(theirs.keys()).collect();
                for kind in kinds {
                    let (ours, theirs) = (ours.get(kind).unwrap_or(&0), theirs.get(kind).unwrap_or(&0));
                    if ours == theirs {
                        agreed += 1;
                    } else {
                        differ(kind, ours.to_string(), theirs.to_string());
                    }
                }
            }
            (Ok(_), Err(_)) => differ("(file)", "read".into(), "refused".into()),
            (Err(_), Ok(_)) => differ("(file)", "refused".into(), "read".into()),
            (Err(_), Err(_)) => {}
        }
    }
    println!("{agreed} counts agree, {} differ", found.len());
    assert!(agreed > 0);
    let names: BTreeSet<String> = paths.iter().map(|path| file_name(path)).collect();
    let explained: BTreeSet<[String; 4]> = table("dxf-crate-differences.tsv")
        .into_iter()
        .filter(|row| names.contains(&row[0]))
        .map(|row| {
            assert!(
                row.len() == 5 && !row[4].is_empty(),
                "no reason is given: {row:?}"
            );
            [row[0].clone(), row[1].clone(), row[2].clone(), row[3].clone()]
        })
        .collect();
    let unexplained: Vec<String> = found.difference(&explained).map(|row| row.join("\t")).collect();
    let stale: Vec<String> = explained.difference(&found).map(|row| row.join("\t")).collect();
    assert!(
        unexplained.is_empty() && stale.is_empty(),
        "unexplained:\n{}\nstale:\n{}",
        unexplained.join("\n"),
        stale.join("\n")
    );
}

/// The rows of a table of ours, without its head and its comments.
fn table(name: &str) -> Vec<Vec<String>> {
    let path = fixture(name);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    text.lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
        .skip(1)
        .map(|line| line.split('\t').map(str::to_owned).collect())
        .collect()
}
