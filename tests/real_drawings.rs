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

/// A difference that `fixtures/real-differences.tsv` explains.
struct Difference {
    /// Our length in drawing units, as printed; `error` where we refuse the file.
    ours: &'static str,
    reason: &'static str,
}

/// By file name.
fn explained() -> BTreeMap<&'static str, Difference> {
    let table = include_str!("../fixtures/real-differences.tsv");
    let rows = table
        .lines()
        .skip(1)
        .map(|line| line.split('\t').collect::<Vec<_>>());
    rows.filter(|row| row[1] == "length")
        .map(|row| {
            let difference = Difference {
                ours: row[3],
                reason: row[4],
            };
            (row[0], difference)
        })
        .collect()
}

fn agree(ours: f64, theirs: f64) -> bool {
    (ours - theirs).abs() <= SAME_LENGTH * theirs.abs() + PRINTED
}

#[test]
fn lengths_as_drawn_agree_with_the_reference() {
    let Some(folder) = folder() else { return };
    let reference = folder.with_file_name("real-reference.json");
    let text = fs::read_to_string(&reference).expect("the reference stands beside the folder");
    let rows: Vec<Value> = serde_json::from_str(&text).expect("the reference is JSON");
    let mut explained = explained();
    let (mut trusted, mut equal) = (0, 0);
    let mut unexplained = Vec::new();
    for row in &rows {
        let name = row["file"].as_str().expect("each row names its file");
        if row.get("untrusted").is_some() || row.get("error").is_some() {
            continue;
        }
        trusted += 1;
        let theirs = row["length_total"]
            .as_f64()
            .expect("each trusted row holds a length");
        let outcome = draw(&folder.join(name)).map(|drawing| {
            let lengths = drawing.curves.iter().map(|curve| curve.length_mm);
            lengths.fold(0.0, |sum, length| sum + length) / drawing.units.factor_to_mm
        });
        if outcome.as_ref().is_ok_and(|&ours| agree(ours, theirs)) {
            equal += 1;
            continue;
        }
        let as_explained = explained.remove(name).filter(|difference| match &outcome {
            Ok(ours) => difference.ours.parse().is_ok_and(|listed| agree(*ours, listed)),
            Err(_) => difference.ours == "error",
        });
        let ours = outcome.map_or_else(|error| error, |length| length.to_string());
        let reason = as_explained
            .as_ref()
            .map_or("NOT EXPLAINED", |difference| difference.reason);
        println!("{name}: reference {theirs}, ours {ours}: {reason}");
        if as_explained.is_none() {
            unexplained.push(name);
        }
    }
    println!("{equal} of {trusted} trusted drawings have the reference's length");
    assert!(trusted > 0, "the reference holds no trusted row");
    assert!(unexplained.is_empty(), "differ without a reason: {unexplained:?}");
    let stale: Vec<_> = explained.into_keys().collect();
    assert!(stale.is_empty(), "explained, but they do not differ: {stale:?}");
}

#[test]
fn arcs_in_place_of_splines_and_ellipses_keep_within_the_fit() {
    let Some(folder) = folder() else { return };
    let mut fitted = 0;
    for entry in fs::read_dir(&folder).expect("the folder can be listed") {
        let path = entry.expect("an entry").path();
        let Ok(drawing) = draw(&path) else { continue };
        for curve in drawing.curves.iter().filter(|curve| curve.fit_deviation_mm > 0.0) {
            fitted += 1;
            let place = format!("{}, line {}", path.display(), curve.origin.line);
            assert!(
                curve.fit_deviation_mm <= Reading::default().fit_mm,
                "{place}: {}",
                curve.fit_deviation_mm
            );
            // Within δ of a curve that turns by φ in all, arcs differ from it in length by δ·φ at most; each arc
            // turns less than a quarter.
            let turn: f64 = curve.polyline.segments().map(|arc| arc.sweep().abs()).sum();
            let difference = (curve.polyline.length() - curve.length_mm).abs();
            assert!(
                difference <= curve.fit_deviation_mm * (turn + 1.0),
                "{place}: {difference}"
            );
        }
    }
    println!("{fitted} splines and ellipses became arcs");
    assert!(fitted > 0, "nothing was fitted");
}
