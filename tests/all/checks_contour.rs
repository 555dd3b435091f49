//! Every check of contours: silent on a drawing without its flaw, and speaking up, with a place and a measure where
//! there is one, on a drawing with it.

use kerfwright::check::{self, Check, Stage};
use kerfwright::finding::Finding;
use kerfwright::job::{JobFile, JobPart, Purpose};
use kerfwright::plan::Planner;

use crate::common::{book, fixture_bytes};
use crate::messages::assert_keeps_quantities;

fn findings(check: &Check, kind: &str) -> Vec<Finding> {
    let path = format!("checks/{}-{kind}.dxf", check.name);
    let bytes = fixture_bytes(&path);
    let mut job = JobFile::default();
    if check.name == "gap-closed" {
        // It speaks only of what was closed on request.
        job.join_mm = Some(0.05);
    }
    if check.name == "name-not-in-drawing" {
        // A layer that is named for several drawings.
        job = job.layer("PLATE", JobPart::new().purpose(Purpose::Existing));
        job.may_miss = job.names();
    }
    if check.name == "side-unclear" {
        job = job.layer("PLATE", JobPart::new().purpose(Purpose::Ignore));
    }
    // Where a question is open it is asked, not warned of.
    job.assume_sides = Some(check.name == "frame-around-drawing");
    let seen = Planner::new(book())
        .job(&job)
        .inspect("drawing.dxf", &bytes)
        .unwrap_or_else(|error| panic!("{path}: {error}"));
    assert_keeps_quantities(&seen);
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
        // What is not in the drawing has no place in it.
        let placeless = ["nothing-to-cut", "name-not-in-drawing"].contains(&check.name);
        assert_eq!(findings(check, "clean"), [], "{} on a clean drawing", check.name);
        let fired = findings(check, "fires");
        assert!(!fired.is_empty(), "{} keeps silent", check.name);
        for finding in fired {
            let message = &finding.message;
            assert!(!message.ends_with('.') && !finding.remedy.is_empty(), "{message}");
            assert!(finding.at.is_some() || placeless, "{message}: no place");
            assert!(
                finding.line.is_some() || placeless,
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
    assert_eq!(gap.option.as_deref(), Some("--join 0.0301"));
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

/// The circumference of a circle of radius 3 is 6π = 18.850.
#[test]
fn what_is_not_plotted_is_told_before_it_is_cut() {
    let found = fired("layer-not-plotted");
    assert_eq!(found.len(), 1);
    assert_eq!(
        found[0].message,
        "1 curve (18.850 mm) on layer “HELP”, which is not plotted, is taken to be cut"
    );
    assert_eq!(found[0].entities, ["2B"]);
}

/// A drawing of loose lines, a hundred in a row, none of which meets another.
fn loose_lines(count: usize) -> Vec<u8> {
    let line = |i: usize| {
        let (x, y) = (i % 100 * 3, i / 100 * 3);
        format!(
            "0\nLINE\n8\nCUT\n10\n{x}\n20\n{y}\n11\n{}\n21\n{}\n",
            x + 1,
            y + 1
        )
    };
    let entities: String = (0..count).map(line).collect();
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )
    .into_bytes()
}

/// Where nothing closes, the places are counted, and only the first of them shown.
#[test]
fn loose_lines_are_counted_and_fifty_of_them_placed() {
    for count in [50, 51, 20_000] {
        let drawing = loose_lines(count);
        let seen = Planner::new(book())
            .inspect("loose.dxf", &drawing)
            .expect("it can be read");
        let open: Vec<&Finding> = seen
            .findings
            .iter()
            .filter(|finding| finding.name == "open-contour")
            .collect();
        assert_eq!(open.len(), 50, "{count}");
        assert!(open.iter().all(|finding| finding.at.is_some()));
        let not_listed: Vec<usize> = open.iter().map(|finding| finding.not_listed).collect();
        assert_eq!(not_listed[0], count - 50);
        assert!(not_listed[1..].iter().all(|more| *more == 0));
        assert!(
            seen.findings.len() <= 60,
            "{count}: {} findings",
            seen.findings.len()
        );
    }
}

/// Two arcs that touch where they end: the tip of the bay between them has no angle, and no number is made up for it.
#[test]
fn a_cusp_is_told_in_words() {
    // A plate 20 × 10 mm whose upper edge runs down between two rounds of radius 4 about (14, 6) and (6, 6): both have the
    // tip (10, 6) at their side and run upright there.
    let quarter = 2f64.sqrt() - 1.0;
    let vertices = [
        (0.0, 0.0, 0.0),
        (20.0, 0.0, 0.0),
        (20.0, 10.0, 0.0),
        (14.0, 10.0, quarter),
        (10.0, 6.0, quarter),
        (6.0, 10.0, 0.0),
        (0.0, 10.0, 0.0),
    ];
    let corner = |(x, y, bulge): &(f64, f64, f64)| format!("10\n{x}\n20\n{y}\n42\n{bulge}\n");
    let corners: String = vertices.iter().map(corner).collect();
    let drawing = format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n8\nCUT\n90\n7\n\
         70\n1\n{corners}0\nENDSEC\n0\nEOF\n"
    );
    let seen = Planner::new(book())
        .inspect("cusp.dxf", drawing.as_bytes())
        .expect("it can be read");
    let cusps: Vec<&Finding> = (seen.findings.iter())
        .filter(|finding| finding.name == "sharp-inside-corner" && finding.message.contains("cusp"))
        .collect();
    assert_eq!(cusps.len(), 1, "{:?}", seen.findings);
    assert_eq!(
        cusps[0].message,
        "two walls run together in a cusp here: even 0.1 mm wire does not reach its tip"
    );
    let at = cusps[0].at.expect("a place");
    assert!((at.x - 10.0).abs() < 1e-9 && (at.y - 6.0).abs() < 1e-9);
    assert!(
        seen.findings
            .iter()
            .all(|finding| !finding.message.contains("inf "))
    );
}
