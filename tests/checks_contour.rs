//! Every check of contours: silent on a drawing without its flaw, and speaking up, with a place and a measure where
//! there is one, on a drawing with it.

use std::fs;

use kerfwright::check::{self, Check, Stage};
use kerfwright::finding::Finding;
use kerfwright::job::{Reading, Uses};
use kerfwright::plan;
use kerfwright::shop::Book;

fn findings(check: &Check, kind: &str) -> Vec<Finding> {
    let root = env!("CARGO_MANIFEST_DIR");
    let path = format!("{root}/fixtures/checks/{}-{kind}.dxf", check.name);
    let bytes = fs::read(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    let mut reading = Reading::default();
    if check.name == "gap-closed" {
        // It speaks only of what was closed on request.
        reading.join_mm = 0.05;
    }
    let book = Book::built_in().expect("the built-in book is sound");
    let seen = plan::inspect("drawing.dxf", &bytes, &reading, &Uses::default(), &book)
        .unwrap_or_else(|error| panic!("{path}: {error}"));
    let mut findings = seen.findings;
    findings.retain(|finding| finding.name == check.name);
    findings
}

fn fired(name: &str) -> Vec<Finding> {
    findings(check::find(name).expect("the check is registered"), "fires")
}

#[test]
fn every_check_of_contours_fires_and_keeps_silent() {
    let mut tried = 0;
    for check in check::ALL.iter().filter(|check| check.stage == Stage::Contour) {
        tried += 1;
        assert_eq!(findings(check, "clean"), [], "{} on a clean drawing", check.name);
        let fired = findings(check, "fires");
        assert!(!fired.is_empty(), "{} keeps silent", check.name);
        for finding in fired {
            let message = &finding.message;
            assert!(!message.ends_with('.') && !finding.remedy.is_empty(), "{message}");
            assert!(
                finding.at.is_some() || check.name == "nothing-to-cut",
                "{message}: no place"
            );
            assert!(
                finding.line.is_some() || check.name == "nothing-to-cut",
                "{message}: no line of the file"
            );
        }
    }
    assert!(tried >= 21, "{tried} checks tried");
}

/// Half the 0.10 mm wire and the 2 µm gap of the eighth pass leave 0.052 mm; (√2 − 1) of it stands before the apex of
/// a right angle (plane geometry).
#[test]
fn a_sharp_corner_says_what_stays() {
    let corners = fired("sharp-inside-corner");
    assert_eq!(corners.len(), 4);
    for corner in corners {
        let left_um = corner.measured.expect("measured").value;
        assert!((left_um - (2f64.sqrt() - 1.0) * 52.0).abs() < 1e-9, "{left_um}");
    }
}

#[test]
fn a_gap_is_measured_between_its_ends() {
    let gap = &fired("gap-in-contour")[0];
    assert!((gap.measured.expect("measured").value - 30.0).abs() < 1e-9);
    assert!(gap.remedy.contains("--join 0.0301"), "{}", gap.remedy);
}

#[test]
fn widths_are_those_of_the_drawing() {
    for (name, width_mm) in [("narrow-slot", 0.2), ("thin-wall", 0.2)] {
        let narrowest = fired(name)[0].measured.expect("measured").value;
        assert!((narrowest - width_mm).abs() < 1e-9, "{name}: {narrowest}");
    }
}

/// A circle of radius 8 in 48 chords: they stay r·(1 − cos(π/48)) inside it.
#[test]
fn facets_are_off_by_their_rise() {
    let chord_error_um = fired("faceted-curve")[0].measured.expect("measured").value;
    let rise_um = 8000.0 * (1.0 - (std::f64::consts::PI / 48.0).cos());
    assert!(
        (chord_error_um - rise_um).abs() < 0.02 * rise_um,
        "{chord_error_um} against {rise_um}"
    );
}
