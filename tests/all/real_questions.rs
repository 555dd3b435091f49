//! What is asked of drawings that others made, and how many of them are planned all the same.

use std::path::Path;

use serde_json::Value;

use crate::common::{real_folder, run, stderr, stdout};

/// So many of the drawings were planned without an error before any question wgiven (build of 28 November 2026, same material,
/// thickness and finish).
const PLANNED_BEFORE: usize = 44;

/// The rows of a quote over the folder.
fn rows(folder: &Path, more: &[&str]) -> Vec<Value> {
    let folder = folder.to_string_lossy();
    let asked = [
        "--material",
        "tool-steel",
        "--thickness",
        "20",
        "--finish",
        "Ra 1.6",
        "--json",
    ];
    let output = run(&[&["quote", &*folder], &asked[..], more].concat());
    let rows = stdout(&output);
    let rows: Vec<Value> = rows
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    assert!(rows.len() > 100, "{} rows: {}", rows.len(), stderr(&output));
    rows
}

fn is(row: &Value, status: &str) -> bool {
    row["status"] == status
}

/// No row is planned, or has a price, beside an error; nearly all that was planned before is still planned, or asks no more than two questions.
#[test]
fn real_drawings_are_planned_or_ask_little() {
    let Some(folder) = real_folder() else { return };
    let asking = rows(&folder, &[]);
    let assuming = rows(&folder, &["--assume-sides"]);
    for row in asking.iter().chain(&assuming) {
        let worst = row["worst_finding"].as_str().unwrap_or_default();
        let priced = !row["cost_each"].is_null();
        assert!(
            !worst.starts_with("error") || !(is(row, "planned") || priced),
            "{row}"
        );
        assert!(!is(row, "to-be-settled") || !priced, "{row}");
    }
    let planned = |rows: &[Value]| {
        rows.iter()
            .filter(|row| is(row, "planned") || is(row, "nearest"))
            .count()
    };
    assert!(5 * planned(&asking) >= 4 * PLANNED_BEFORE, "{}", planned(&asking));
    assert!(planned(&assuming) >= PLANNED_BEFORE, "{}", planned(&assuming));

    let mut counts = Vec::new();
    for row in &asking {
        let file = folder.join(row["file"].as_str().expect("a name"));
        let output = run(&["inspect", "--json", &file.to_string_lossy()]);
        // What cannot be read asks nothing.
        let Ok(read) = serde_json::from_str::<Value>(&stdout(&output)) else {
            continue;
        };
        counts.push(read["questions"].as_array().map_or(0, Vec::len));
    }
    counts.sort_unstable();
    eprintln!(
        "{} planned, {} with first readings, before {PLANNED_BEFORE}; questions of {} drawings: median {}, most {:?}",
        planned(&asking),
        planned(&assuming),
        counts.len(),
        counts[counts.len() / 2],
        counts.last()
    );
    // The most are asked of the floor plan of a house, whose walls are open lines.
    assert!(
        counts[counts.len() / 2] <= 1 && counts.last().is_some_and(|most| *most <= 8),
        "{counts:?}"
    );
}
