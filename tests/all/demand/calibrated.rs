//! `calibrate`.

use std::fs;

use serde_json::Value;

use crate::common::{LOG, RATCHET, json, number, rows, run, run_with_input, stderr, stdout};

#[test]
fn a_calibration_is_learned_checked_and_used() {
    let room = tempfile::tempdir().expect("a folder");
    let file = room.path().join("learned.toml");
    let path = file.to_str().expect("a path");
    let output = run(&["calibrate", LOG, "--out", path]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let told = stdout(&output);
    assert!(told.contains("% before") && told.contains("% after"), "{told}");
    assert!(
        told.contains("3 jobs; a fit needs at least 5"),
        "aluminium is refused: {told}"
    );
    assert!(
        told.contains("log more jobs, short and long; about ")
            && told.contains(" like these would tell them to 3 %"),
        "{told}"
    );
    let learned = json(&["calibrate", LOG]);
    let fit = &rows(&learned, "fits")[0];
    // The log was made with rates 1.25 times the book's, 42 fixed minutes, a scatter of 7 % and one wild row.
    assert!(
        (number(&fit["rate_factor"]["expected"]) / 1.25 - 1.0).abs() < 0.05,
        "{fit}"
    );
    assert!(number(&fit["error_after_percent"]) < number(&fit["error_before_percent"]));
    assert_eq!(rows(fit, "wild_lines"), &[Value::from(6)], "{fit}");
    assert_eq!(fit["jobs"], 13, "one length is taken from its drawing");
    let plan = json(&[
        "plan",
        RATCHET,
        "--thickness",
        "8",
        "--material",
        "tool-steel",
        "--wire",
        "0.25",
        "--passes",
        "3",
        "--book",
        path,
    ]);
    let confidence = plan["estimate"]["confidence"].as_str().expect("words");
    assert!(confidence.starts_with("calibrated on 13 jobs"), "{confidence}");

    let short: String = fs::read_to_string(LOG)
        .expect("a log")
        .lines()
        .take(4)
        .fold(String::new(), |text, line| text + line + "\n");
    let refused = run_with_input(&["calibrate", "-"], &short);
    assert_eq!(refused.status.code(), Some(2));
    assert!(refused.stdout.is_empty());
    assert!(
        stderr(&refused).contains("3 jobs; a fit needs at least 5"),
        "{}",
        stderr(&refused)
    );
    let unknown = run_with_input(&["calibrate", "-"], "length,minutes\n1,2\n");
    assert_eq!(unknown.status.code(), Some(2));
    assert!(
        stderr(&unknown).contains("column `length` is not known"),
        "{}",
        stderr(&unknown)
    );
}
