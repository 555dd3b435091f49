//! `compare`.

use std::fs;

use serde_json::Value;

use crate::common::{RATCHET, json, number, rows, run, stderr, stdout};

/// The keys that every candidate has.
const PROMISED: [&str; 13] = [
    "wire_mm",
    "passes",
    "machine",
    "feasible",
    "reasons",
    "minutes",
    "cost",
    "ra_um",
    "accuracy_um",
    "min_inside_radius_mm",
    "unreached_um",
    "non_dominated",
    "chosen",
];

#[test]
fn a_comparison_keeps_its_promised_fields() {
    let room = tempfile::tempdir().expect("a folder");
    let out = room.path().to_str().expect("a path");
    let arguments = [
        "compare",
        RATCHET,
        "--thickness",
        "8",
        "--material",
        "tool-steel",
        "--finish",
        "N6",
    ];
    let comparison = json(&arguments);
    assert_eq!(comparison["schema"], 1);
    assert_eq!(comparison["file"], "ratchet.dxf");
    let candidates = rows(&comparison, "candidates");
    for key in PROMISED {
        assert!(
            candidates.iter().all(|candidate| candidate.get(key).is_some()),
            "{key}"
        );
    }
    let chosen: Vec<&Value> = candidates.iter().filter(|c| c["chosen"] == true).collect();
    assert_eq!(chosen.len(), 1);
    assert_eq!(chosen[0]["feasible"], true);
    let fewest = candidates
        .iter()
        .filter(|c| c["feasible"] == true)
        .map(|c| c["passes"].as_u64());
    assert_eq!(
        chosen[0]["passes"].as_u64(),
        fewest.min().expect("some are feasible")
    );
    assert!(
        candidates
            .iter()
            .any(|c| c["non_dominated"] == true && c["chosen"] == false)
    );
    assert!(number(&comparison["verified"]["verified_um"]) < 0.1);

    let mut words = arguments.to_vec();
    words.extend(["--out", out]);
    let output = run(&words);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let read = |suffix: &str| {
        fs::read_to_string(room.path().join(format!("ratchet-compare.{suffix}"))).expect("a file")
    };
    let table = read("csv");
    assert_eq!(table.lines().count(), candidates.len() + 1);
    let chart = read("svg");
    let chart = roxmltree::Document::parse(&chart).expect("well-formed");
    let of_class = |class: &str| {
        let nodes = chart.descendants();
        nodes
            .filter(|node| node.attribute("class") == Some(class))
            .count()
    };
    let possible = candidates.iter().filter(|c| c["possible"] == true).count();
    // Three rings with a word each, and one with a size, are the key.
    assert_eq!(
        of_class("ring") + of_class("ring-short") + of_class("ring-chosen"),
        possible + 5
    );
    assert_eq!(of_class("ring-chosen"), 2);
    for flag in ["--csv", "--svg"] {
        let mut words = arguments.to_vec();
        words.push(flag);
        assert!(read(&flag[2..]) == stdout(&run(&words)), "{flag}");
    }
}
