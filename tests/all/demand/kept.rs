//! Job files: what is asked, kept with the order.

use std::fs;

use serde_json::Value;

use crate::common::{RATCHET, json, rows, run, stderr};

#[test]
fn a_job_file_says_what_the_options_say() {
    let job = json(&["plan", "fixtures/shop/ratchet.toml"]);
    let options = json(&[
        "plan",
        RATCHET,
        "--thickness",
        "8",
        "--material",
        "tool-steel",
        "--finish",
        "N6",
        "--quantity",
        "4",
        "--pieces-per-load",
        "2",
        "--demand",
        "layer PIVOT=finish Ra 0.4; tolerance 5H8",
    ]);
    assert_eq!(job, options);
    let groups: Vec<&Value> = rows(&job, "passes").iter().map(|pass| &pass["group"]).collect();
    assert!(groups.contains(&&Value::from(2)), "the pivot is cut by itself");
    // The command line goes before the job file.
    let other = json(&["plan", "fixtures/shop/ratchet.toml", "--thickness", "10"]);
    assert_eq!(other["thickness_mm"], 10.0);
    let room = tempfile::tempdir().expect("a folder");
    let file = room.path().join("job.toml");
    for (text, said) in [
        ("drawing = \"a.dxf\"\nthickness = 3\n", "line 2"),
        ("material = \"tool-steel\"\n", "names no drawing"),
        ("drawing = \"a.dxf\"\nfinish = \"fine\"\n", "fine"),
        ("drawing = \"a.dxf\"\npickup_mm = nan\n", "pickup_mm"),
        (
            "drawing = \"a.dxf\"\nmaterial = \"x\"\nthickness_mm = 1\nunits = \"furlong\"\n",
            "furlong",
        ),
        (
            "drawing = \"a.dxf\"\nmaterial = \"tool-steel\"\nthickness_mm = 1\n",
            "a.dxf: cannot be read",
        ),
    ] {
        fs::write(&file, text).expect("written");
        let output = run(&["plan", file.to_str().expect("a path")]);
        assert_eq!(output.status.code(), Some(2), "{text}");
        assert!(stderr(&output).contains(said), "{text}: {}", stderr(&output));
    }
}
