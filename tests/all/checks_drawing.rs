//! Every check of the drawing: silent on a drawing without its flaw, and speaking up, with a place and a measure where
//! there is one, on a drawing with it.

use kerfwright::check::{self, Check, Stage, Subject};
use kerfwright::contour::Contours;
use kerfwright::drawing::from_document;
use kerfwright::dxf;
use kerfwright::finding::Finding;
use kerfwright::job::Reading;
use kerfwright::question::Questions;

use crate::common::{book, fixture_bytes};
use crate::messages::assert_said_alike;

fn findings(check: &Check, kind: &str) -> Vec<Finding> {
    let path = format!("checks/{}-{kind}.dxf", check.name);
    let bytes = fixture_bytes(&path);
    let document = dxf::read(&bytes).unwrap_or_else(|error| panic!("{path}: {error}"));
    let drawing =
        from_document(&document, &Reading::default()).unwrap_or_else(|error| panic!("{path}: {error}"));
    let contours = Contours::default();
    let subject = Subject {
        drawing: &drawing,
        contours: &contours,
        questions: &Questions::default(),
        toolpaths: None,
        process: None,
        groups: Vec::new(),
        wires: &[],
        rules: &book().rules,
    };
    let mut findings = check::run(&subject, Stage::Drawing);
    findings.retain(|finding| finding.name == check.name);
    findings
}

fn messages(name: &str) -> Vec<String> {
    let check = check::find(name).expect("the check is registered");
    findings(check, "fires")
        .into_iter()
        .map(|finding| finding.message.to_string())
        .collect()
}

#[test]
fn every_check_of_the_drawing_fires_and_keeps_silent() {
    let of_drawing = check::ALL.iter().filter(|check| check.stage == Stage::Drawing);
    let mut tried = 0;
    for check in of_drawing {
        tried += 1;
        assert_eq!(findings(check, "clean"), [], "{} on a clean drawing", check.name);
        let fired = findings(check, "fires");
        assert!(!fired.is_empty(), "{} keeps silent", check.name);
        for finding in fired {
            assert!(
                finding.severity >= check.severity,
                "{} is worse than it says",
                check.name
            );
            let message = &finding.message;
            assert_said_alike(message, &[]);
            assert_said_alike(&finding.remedy, &[]);
            assert!(!message.ends_with('.'), "{message}");
            assert!(
                !finding.remedy.is_empty() && !finding.remedy.ends_with(".."),
                "{message}"
            );
            assert!(
                finding.at.is_some() || finding.line.is_some() || finding.name.starts_with("units-"),
                "{message}: no place"
            );
        }
    }
    assert!(tried >= 18, "{tried} checks tried");
}

#[test]
fn an_inch_header_on_a_plate_in_mm_names_the_likely_unit() {
    // 719 inches are 719 · 25.4 = 18 262.6 mm.
    assert_eq!(
        messages("units-implausible"),
        [
            "read in inch, the drawing is 18262.600 mm across, larger than a machine can hold (limit 1000 mm); in mm \
          it would be 719.000 mm"
        ]
    );
}

/// What `inspect` says of the unit of a rectangle this wide under this `$INSUNITS`.
fn unit_doubted(insunits: i32, width: f64) -> Option<Finding> {
    let text = format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n{insunits}\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n\
         8\n0\n90\n4\n70\n1\n10\n0\n20\n0\n10\n{width}\n20\n0\n10\n{width}\n20\n{0}\n10\n0\n20\n{0}\n0\nENDSEC\n\
         0\nEOF\n",
        0.5 * width
    );
    let seen = kerfwright::Planner::new(book()).inspect("unit.dxf", text.as_bytes());
    let findings = seen.expect("it can be read").findings;
    findings
        .into_iter()
        .find(|finding| finding.name == "units-implausible")
}

/// An inch is 25.4 mm exactly (NIST Special Publication 811, appendix B): a part of 0.9 in drawn under a header that says
/// mm is too small to be clamped; one of 60 mm under a header that says inch too large for a machine.
#[test]
fn headers_that_say_inch_for_mm_and_mm_for_inch_are_doubted() {
    let small = unit_doubted(4, 0.9).expect("0.9 mm is no part");
    assert!(
        small.message.contains("in inch it would be 22.860 mm"),
        "{}",
        small.message
    );
    let option = |finding: &Finding| finding.option.clone().expect("what to type");
    assert!(option(&small).contains("--drawing-unit inch"), "{small:?}");
    let large = unit_doubted(1, 60.0).expect("60 in is no part");
    assert!(
        large.message.contains("in mm it would be 60.000 mm"),
        "{}",
        large.message
    );
    assert!(option(&large).contains("--drawing-unit mm"), "{large:?}");
    for (insunits, width) in [(4, 60.0), (1, 0.9), (1, 12.0)] {
        assert_eq!(unit_doubted(insunits, width), None, "{insunits}, {width}");
    }
}

#[test]
fn hidden_curves_are_summed_by_layer() {
    assert_eq!(
        messages("hidden-geometry"),
        [
            "1 curve (30.000 mm) on layer “NOTES”, which is off, is left out",
            "1 curve (18.850 mm) on layer “FROZEN”, which is frozen, is left out"
        ]
    );
}

#[test]
fn curves_at_another_height_are_counted_with_both_heights() {
    assert_eq!(
        messages("height-differs"),
        [
            "this CIRCLE and 1 more lie at z = 7.0000 mm, most curves at z = 2.0000 mm (limit 0.0001 mm apart); all are \
          taken as seen from above"
        ]
    );
}

#[test]
fn a_text_is_quoted_with_its_place() {
    let check = check::find("text-on-cut-layer").expect("registered");
    let found = findings(check, "fires");
    assert!(
        found[0].message.contains("\"hole for clock hand: 6H7\""),
        "{}",
        found[0].message
    );
    assert_eq!(found[0].entities, ["2B"]);
    assert_eq!(found[0].at.map(|p| (p.x, p.y)), Some((5.0, 5.0)));
}

#[test]
fn a_missing_block_is_named() {
    assert_eq!(
        messages("block-not-placed"),
        ["block “SLOT” is not in the file; what it should draw here is missing"]
    );
}
