//! Drawings from public repositories, against lengths that a general-purpose DXF library measured
//! (ezdxf 1.4.5: closed forms for lines and arcs, quadrature for ellipses and splines).
//!
//! The drawings are not part of this repository. `KERFWRIGHT_REAL_DRAWINGS` names the folder that holds them; the
//! reference stands beside that folder, in `real-reference.json`. Without the variable the test says that it was
//! skipped.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use kerfwright::drawing::{Drawing, from_document};
use kerfwright::dxf;
use kerfwright::job::Reading;
use serde_json::Value;

/// Relative difference of lengths that counts as none.
const SAME_LENGTH: f64 = 1e-9;

/// The reference prints nine decimals: half of the last one, in drawing units.
const PRINTED: f64 = 0.5e-9;

fn folder() -> Option<PathBuf> {
    let folder = std::env::var_os("KERFWRIGHT_REAL_DRAWINGS").map(PathBuf::from);
    if folder.is_none() {
        eprintln!("SKIPPED: KERFWRIGHT_REAL_DRAWINGS is not set, so no real drawing was read");
    }
    folder
}

fn draw(path: &Path) -> Result<Drawing, String> {
    let bytes = fs::read(path).map_err(|error| error.to_string())?;
    let document = dxf::read(&bytes).map_err(|error| error.to_string())?;
    from_document(&document, &Reading::default()).map_err(|error| error.to_string())
}

/// File name → (what differs, why ours is right).
fn explained() -> BTreeMap<String, String> {
    let table = include_str!("../fixtures/real-differences.tsv");
    let rows = table.lines().skip(1).map(|line| line.split('\t').collect::<Vec<_>>());
    rows.filter(|row| row[1] == "length")
        .map(|row| (row[0].to_owned(), row[4].to_owned()))
        .collect()
}

#[test]
fn lengths_as_drawn_agree_with_the_reference() {
    let Some(folder) = folder() else { return };
    let reference = folder.with_file_name("real-reference.json");
    let text = fs::read_to_string(&reference).expect("the reference stands beside the folder");
    let rows: Vec<Value> = serde_json::from_str(&text).expect("the reference is JSON");
    let explained = explained();
    let (mut trusted, mut equal) = (0, 0);
    let mut unexplained = Vec::new();
    for row in &rows {
        let name = row["file"].as_str().expect("each row names its file");
        if row.get("untrusted").is_some() || row.get("error").is_some() {
            continue;
        }
        trusted += 1;
        let theirs = row["length_total"].as_f64().expect("each trusted row holds a length");
        let outcome = draw(&folder.join(name)).map(|drawing| {
            let length: f64 = drawing.curves.iter().map(|curve| curve.length_mm).sum();
            length / drawing.units.factor_to_mm
        });
        let agrees = |ours: f64| (ours - theirs).abs() <= SAME_LENGTH * theirs.abs() + PRINTED;
        match outcome {
            Ok(ours) if agrees(ours) => equal += 1,
            outcome => {
                let ours = outcome.map_or_else(|error| error, |length| length.to_string());
                let reason = explained.get(name).map(String::as_str);
                println!("{name}: reference {theirs}, ours {ours}: {}", reason.unwrap_or("NOT EXPLAINED"));
                if reason.is_none() {
                    unexplained.push(name);
                }
            }
        }
    }
    println!("{equal} of {trusted} trusted drawings have the reference's length");
    assert!(trusted > 0, "the reference holds no trusted row");
    assert!(unexplained.is_empty(), "differ without a reason: {unexplained:?}");
}
