//! The die as it is planned when its plate is told, left out, or given as something else.

use std::process::Output;

use serde_json::Value;

use crate::common::{rows, run};

const DIE: &str = "fixtures/clock/hand-die.dxf";
const JOB: [&str; 8] = [
    "--thickness",
    "30",
    "--material",
    "tool-steel",
    "--wire",
    "0.25",
    "--passes",
    "4",
];
/// The number of the die's opening.
const OPENING: usize = 6;

fn plan(more: &[&str]) -> (Output, Value) {
    let output = run(&[&["plan", DIE, "--json"], &JOB[..], more].concat());
    let text = String::from_utf8_lossy(&output.stdout);
    let json = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{error}: {output:?}"));
    (output, json)
}

fn role(plan: &Value, id: usize) -> &str {
    plan["contours"][id - 1]["role"].as_str().expect("a role")
}

/// Length of the last pass of the opening: the wire runs inside, so it is shorter than the contour.
fn last_pass_mm(plan: &Value) -> f64 {
    let of_opening = |path: &&Value| path["contour"] == OPENING && path["pass"] == 4;
    rows(plan, "paths")
        .iter()
        .filter(of_opening)
        .map(|path| path["length_mm"].as_f64().expect("a length"))
        .sum()
}

/// The same die, told in full and by what is to be cut alone, is cut along the same path.
#[test]
fn an_opening_stays_one_when_only_its_layer_is_cut() {
    let full = [
        "--layer",
        "PLATE=existing",
        "--layer",
        "SCREWS=existing",
        "--layer",
        "START=start-hole",
    ];
    let (told, in_full) = plan(&full);
    let (short, by_layer) = plan(&["--cut-layers", "OPENING", "--layer", "START=start-hole"]);
    assert_eq!((told.status.code(), short.status.code()), (Some(0), Some(0)));
    assert_eq!(
        (role(&in_full, OPENING), role(&by_layer, OPENING)),
        ("opening", "opening")
    );
    assert_eq!(last_pass_mm(&in_full), last_pass_mm(&by_layer));
    assert!(
        last_pass_mm(&in_full)
            < in_full["contours"][OPENING - 1]["perimeter_mm"]
                .as_f64()
                .expect("a length")
    );
    assert_eq!(by_layer["contours"][0]["use"], "existing");
}

#[test]
fn a_plate_that_is_left_out_leaves_no_path_and_no_price() {
    let rest = ["--layer", "SCREWS=ignore", "--layer", "START=start-hole"];
    // What is left out altogether has no number.
    for (left_out, opening) in [("PLATE=ignore", 1), ("PLATE=reference", 2)] {
        let with = |more: &[&str]| plan(&[&["--layer", left_out], &rest[..], more].concat());
        for asked in [&[][..], &["--quantity", "3", "--finish", "N6"]] {
            let (output, asks) = with(asked);
            assert_eq!(output.status.code(), Some(1), "{left_out}");
            let findings = rows(&asks, "findings");
            let found = findings.iter().find(|finding| finding["name"] == "side-unclear");
            let found = found.unwrap_or_else(|| panic!("{left_out}: {findings:?}"));
            assert_eq!(
                (&found["severity"], &found["contour"]),
                (&"error".into(), &opening.into())
            );
            let way_out = format!("--contour {opening}=opening");
            assert!(
                found["option"].as_str().expect("a text").contains(&way_out),
                "{found}"
            );
            // What hangs on the side is not told as if it were known.
            for other in ["path-refused", "start-hole-misplaced"] {
                assert!(
                    !findings.iter().any(|finding| finding["name"] == other),
                    "{left_out}: {other}"
                );
            }
            assert_eq!(asks["paths"], Value::Array(Vec::new()));
            for figure in ["cut_minutes", "total_minutes", "cost"] {
                assert!(
                    asks["estimate"][figure].is_null(),
                    "{left_out}: {figure} {}",
                    asks["estimate"][figure]
                );
            }
        }
        let (output, given) = with(&["--contour", &format!("{opening}=opening")]);
        assert_eq!(
            (output.status.code(), role(&given, opening)),
            (Some(0), "opening")
        );
        let (_, given) = with(&["--contour", &format!("{opening}=part")]);
        assert_eq!(role(&given, opening), "outside");
    }
}
