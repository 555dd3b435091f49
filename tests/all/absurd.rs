//! Numbers that no job has are refused with their limit, whichever way they come in.

use std::fs;

use kerfwright::job::JobFile;
use kerfwright::plan::Planner;

use crate::common::{RECTANGLE, book, fixture_bytes, run, stderr, stdout};

/// A line of a job file, and what the refusal has to name: key and limit.
const ABSURD: [(&str, &[&str]); 27] = [
    ("quantity = 18000000000000000000", &["quantity", "1000000"]),
    ("quantity = 9000000000000000000", &["quantity", "1000000"]),
    ("quantity = 1000001", &["quantity", "1000000"]),
    ("quantity = 0", &["quantity", "above 0"]),
    ("quantity = -3", &["-3"]),
    ("pieces_per_load = 5000000", &["pieces_per_load", "1000000"]),
    ("join_mm = 1e300", &["join_mm", "to 10"]),
    ("join_mm = 5e-324", &["join_mm", "to 10"]),
    ("fit_mm = 1e200", &["fit_mm", "to 10"]),
    ("refit_mm = inf", &["refit_mm", "above 0"]),
    ("thickness_mm = 1e308", &["thickness_mm", "10000"]),
    ("thickness_mm = 5e-324", &["thickness_mm", "0.0001"]),
    ("thickness_mm = inf", &["thickness_mm", "10000"]),
    ("thickness_mm = nan", &["thickness", "above 0"]),
    ("thickness_mm = -1", &["thickness", "above 0"]),
    ("margin_mm = 1e308", &["margin_mm", "10000"]),
    ("blank_mm = [1e200, 5]", &["blank_mm", "10000"]),
    ("overlap_mm = 1e300", &["overlap_mm", "10000"]),
    ("aim_mm = -1e300", &["aim_mm", "-10000"]),
    ("pickup_mm = 1e-310", &["pickup_mm", "0.0001"]),
    ("room_swing_k = 1e9", &["room_swing_k", "100"]),
    ("sharp_corners = 1e300", &["sharp_corners", "1000"]),
    ("passes = 9000000000000000000", &["passes", "1 to"]),
    ("tolerance = \"±0\"", &["tolerance", "above"]),
    ("tolerance = \"±0.0000000001\"", &["tolerance", "0.1 µm"]),
    ("finish = \"Ra 0.00000001\"", &["finish", "0.001"]),
    (
        "start_holes_mm = [[1e300, 0]]",
        &["start_holes_mm", "100000000000"],
    ),
];

/// A job with this line in it, in the place of its key.
fn with(line: &str) -> String {
    let key = line.split(' ').next().expect("a key");
    let plain = [
        "material = \"tool-steel\"",
        "thickness_mm = 20",
        "wire_mm = 0.25",
        "passes = 2",
    ];
    let kept = plain.iter().filter(|other| !other.starts_with(key));
    let lines: Vec<&str> = kept.copied().chain([line]).collect();
    lines.join("\n")
}

#[test]
fn a_job_file_is_refused_with_the_limit() {
    let bytes = fixture_bytes("shapes/rectangle-40x20.dxf");
    for (line, names) in ABSURD {
        let refused = match JobFile::parse(&with(line)) {
            Err(error) => error.to_string(),
            Ok(job) => {
                let planned = Planner::new(book()).job(&job).plan("a.dxf", &bytes);
                planned
                    .err()
                    .unwrap_or_else(|| panic!("{line} is planned"))
                    .to_string()
            }
        };
        assert!(
            names.iter().all(|name| refused.contains(name)),
            "{line}: {refused}"
        );
    }
}

#[test]
fn the_command_line_refuses_with_the_limit() {
    for (option, value, names) in [
        ("--quantity", "18000000000000000000", &["quantity", "1000000"][..]),
        ("--thickness", "1e308", &["thickness_mm", "10000"]),
        ("--thickness", "5e-324", &["thickness_mm", "0.0001"]),
        ("--thickness", "-3", &["thickness"]),
        ("--join", "1e300", &["join_mm", "to 10"]),
        ("--tolerance", "0", &["tolerance", "above"]),
        ("--margin", "1e300", &["margin_mm", "10000"]),
    ] {
        let mut words = vec!["plan", RECTANGLE, "--material", "tool-steel"];
        if option != "--thickness" {
            words.extend(["--thickness", "20"]);
        }
        let given = format!("{option}={value}");
        words.push(&given);
        let output = run(&words);
        let told = stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{given}: {told}");
        assert!(names.iter().all(|name| told.contains(name)), "{given}: {told}");
    }
    let inspected = run(&["inspect", RECTANGLE, "--join", "1e300"]);
    assert!(stderr(&inspected).contains("to 10"), "{}", stderr(&inspected));
}

#[test]
fn a_table_of_jobs_has_a_refused_row_with_the_limit() {
    let room = tempfile::tempdir().expect("a folder");
    let drawing = room.path().join("a.dxf");
    fs::copy(crate::common::root().join(RECTANGLE), &drawing).expect("copied");
    let table = room.path().join("jobs.csv");
    let rows = "file,material,thickness_mm,quantity\na.dxf,tool-steel,1e308,1\na.dxf,tool-steel,20,9000000000000\na.dxf,tool-steel,inf,1\n";
    fs::write(&table, rows).expect("written");
    let output = run(&["quote", table.to_str().expect("text")]);
    let text = format!("{}{}", stdout(&output), stderr(&output));
    for limit in [
        "thickness_mm",
        "from 0.0001 to 10000",
        "quantity",
        "from 1 to 1000000",
    ] {
        assert!(text.contains(limit), "{limit}: {text}");
    }
    assert!(!text.contains(",inf,"), "{text}");
}
