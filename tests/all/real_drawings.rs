//! Drawings from public repositories, against what a general-purpose DXF library measured (ezdxf 1.4.5: closed forms
//! for lines and arcs, quadrature for ellipses and splines; ends chained within 1 µm): total length, loops with
//! their areas and perimeters, open chains.
//!
//! The drawings are not part of this repository. `KERFWRIGHT_REAL_DRAWINGS` names the folder that holds them; the
//! reference stands beside that folder, in `real-reference.json`. Without the variable the test says that it was
//! skipped.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use kerfwright::contour::{self, Contour, Contours, Role};
use kerfwright::drawing::{Drawing, from_document};
use kerfwright::dxf;
use kerfwright::geometry::Point;
use kerfwright::job::{Purpose, Purposes, Reading};
use kerfwright::tolerance::{FIT_MM, JOIN_MM};
use serde_json::Value;

use crate::common::real_folder;

/// Relative difference of lengths that counts as none.
const SAME_LENGTH: f64 = 1e-9;

/// The reference prints nine decimals: half of the last one, in drawing units.
const PRINTED: f64 = 0.5e-9;

fn draw(path: &Path) -> Result<Drawing, String> {
    let bytes = fs::read(path).map_err(|error| error.to_string())?;
    let document = dxf::read(&bytes).map_err(|error| error.to_string())?;
    from_document(&document, &Reading::default()).map_err(|error| error.to_string())
}

/// A difference that `fixtures/real-differences.tsv` explains.
struct Difference {
    /// Our length in drawing units, or our loops, open chains and branching components, as printed; `error` where
    /// we refuse the file.
    ours: &'static str,
    reason: &'static str,
}

/// Differences of one kind (`length` or `chains`), by file name.
fn explained(kind: &str) -> BTreeMap<&'static str, Difference> {
    let table = include_str!("../../fixtures/real-differences.tsv");
    let rows = table
        .lines()
        .skip(1)
        .map(|line| line.split('\t').collect::<Vec<_>>());
    rows.filter(|row| row[1] == kind)
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
    let Some(folder) = real_folder() else { return };
    let reference = folder.with_file_name("real-reference.json");
    let text = fs::read_to_string(&reference).expect("the reference stands beside the folder");
    let rows: Vec<Value> = serde_json::from_str(&text).expect("the reference is JSON");
    let mut explained = explained("length");
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
    let Some(folder) = real_folder() else { return };
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

/// What the reference counts: components in which no three ends meet, as loops or open chains; all others only as
/// components.
struct Chains {
    loops: Vec<(f64, f64)>,
    open: Vec<f64>,
    branched: usize,
    /// By how much lengths may differ, in drawing units: joints moved together, and arcs for splines.
    slack: f64,
}

impl Chains {
    /// All layers are cut here, whatever their linetypes, since the reference chains everything together.
    fn of(drawing: &Drawing) -> Self {
        let mut uses = Purposes::default();
        for layer in &drawing.layers {
            uses.layers.insert(layer.name.clone(), Purpose::Cut);
        }
        let contours = contour::build(drawing, &Reading::default(), &uses);
        let unit = drawing.units.factor_to_mm;
        let whole = || contours.list.iter().filter(|contour| !contour.branched);
        let mut loops: Vec<(f64, f64)> = whole()
            .filter(|contour| contour.role != Role::Open)
            .map(|contour| (contour.area_mm2 / unit / unit, contour.perimeter_mm / unit))
            .collect();
        let mut open: Vec<f64> = whole()
            .filter(|contour| contour.role == Role::Open)
            .map(|contour| contour.perimeter_mm / unit)
            .collect();
        loops.sort_by(|a, b| b.0.total_cmp(&a.0));
        open.sort_by(|a, b| b.total_cmp(a));
        let facts = &contours.facts;
        let moved = facts.merged_joints + facts.crumbs.iter().map(|crumbs| crumbs.count).sum::<usize>();
        // The fitting of arcs may shorten or lengthen each of them by about its deviation.
        let arcs = if drawing.fit_deviation_mm > 0.0 {
            let segments = contours
                .list
                .iter()
                .map(|contour| contour.polyline.segment_count());
            segments.sum::<usize>()
        } else {
            0
        };
        Self {
            loops,
            open,
            branched: branched_components(&contours),
            slack: (moved as f64 * JOIN_MM + arcs as f64 * FIT_MM) / unit,
        }
    }

    fn counts(&self) -> String {
        format!("{}/{}/{}", self.loops.len(), self.open.len(), self.branched)
    }

    /// The first measure that is not that of the reference.
    fn differing_measure(&self, row: &Value) -> Option<String> {
        let numbers = |key: &str| -> Vec<f64> {
            let list = row[key].as_array().map_or(&[][..], Vec::as_slice);
            list.iter().filter_map(Value::as_f64).collect()
        };
        let mut perimeters: Vec<f64> = self.loops.iter().map(|&(_, perimeter)| perimeter).collect();
        perimeters.sort_by(|a, b| b.total_cmp(a));
        let mut theirs = numbers("loop_perims");
        theirs.sort_by(|a, b| b.total_cmp(a));
        let areas: Vec<f64> = self.loops.iter().map(|&(area, _)| area).collect();
        let longest = perimeters.first().copied().unwrap_or(0.0);
        let differing = |what: &str, ours: &[f64], theirs: &[f64], slack: f64| {
            let pairs = ours.iter().zip(theirs);
            let wrong = pairs
                .filter(|(a, b)| (**a - **b).abs() > slack + PRINTED + SAME_LENGTH * b.abs())
                .map(|(a, b)| format!("{what} {a} instead of {b}"))
                .next();
            wrong.or_else(|| (ours.len() != theirs.len()).then(|| format!("{what}: another number")))
        };
        differing("perimeter", &perimeters, &theirs, self.slack)
            .or_else(|| {
                differing(
                    "area",
                    &areas,
                    &numbers("loop_areas"),
                    self.slack * longest.max(1.0),
                )
            })
            .or_else(|| differing("open length", &self.open, &numbers("open_lengths"), self.slack))
    }
}

/// How many groups of contours hang together at branching nodes.
fn branched_components(contours: &Contours) -> usize {
    let branched: Vec<&Contour> = contours.list.iter().filter(|contour| contour.branched).collect();
    let cell = |p: Point| ((p.x / 0.1).round() as i64, (p.y / 0.1).round() as i64);
    let mut at: BTreeMap<(i64, i64), Vec<(Point, usize)>> = BTreeMap::new();
    for (i, contour) in branched.iter().enumerate() {
        for vertex in &contour.polyline.vertices {
            at.entry(cell(vertex.at)).or_default().push((vertex.at, i));
        }
    }
    let mut group: Vec<usize> = (0..branched.len()).collect();
    for branch in &contours.facts.branches {
        let (x, y) = cell(branch.at);
        let meeting: Vec<usize> = (-1..=1)
            .flat_map(|dx| (-1..=1).map(move |dy| (x + dx, y + dy)))
            .filter_map(|cell| at.get(&cell))
            .flatten()
            .filter(|(p, _)| p.distance(branch.at) <= 2.0 * JOIN_MM)
            .map(|&(_, i)| group[i])
            .collect();
        if let Some(&first) = meeting.first() {
            for own in &mut group {
                if meeting.contains(own) {
                    *own = first;
                }
            }
        }
    }
    group.sort_unstable();
    group.dedup();
    group.len()
}

#[test]
fn loops_and_open_chains_agree_with_the_reference() {
    let Some(folder) = real_folder() else { return };
    let reference = folder.with_file_name("real-reference.json");
    let text = fs::read_to_string(&reference).expect("the reference stands beside the folder");
    let rows: Vec<Value> = serde_json::from_str(&text).expect("the reference is JSON");
    let explained = explained("chains");
    let (mut trusted, mut equal, mut loops) = (0, 0, 0);
    let mut unexplained = Vec::new();
    for row in &rows {
        let name = row["file"].as_str().expect("each row names its file");
        if row.get("untrusted").is_some() || row.get("error").is_some() {
            continue;
        }
        trusted += 1;
        let theirs = format!("{}/{}/{}", row["loops"], row["open_chains"], row["branched"]);
        let (ours, measure) = match draw(&folder.join(name)) {
            Ok(drawing) => {
                let chains = Chains::of(&drawing);
                loops += chains.loops.len();
                (chains.counts(), chains.differing_measure(row))
            }
            Err(error) => (error, None),
        };
        if ours == theirs && measure.is_none() {
            equal += 1;
            continue;
        }
        let reason = explained.get(name).filter(|difference| difference.ours == ours);
        println!(
            "{name}: reference {theirs}, ours {ours} (loops/open chains/branching components){}: {}",
            measure.map_or_else(String::new, |measure| format!(", {measure}")),
            reason.map_or("NOT EXPLAINED", |difference| difference.reason)
        );
        if reason.is_none() {
            unexplained.push(name);
        }
    }
    println!("{equal} of {trusted} trusted drawings have the reference's loops and open chains");
    assert!(loops > 1000, "only {loops} loops were compared");
    assert!(unexplained.is_empty(), "differ without a reason: {unexplained:?}");
    assert!(100 * equal >= 85 * trusted, "{equal} of {trusted} agree");
}
