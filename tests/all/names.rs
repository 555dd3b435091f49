//! A name that stands for nothing in the drawing is an error with the nearest one, wherever it can be written: what was meant to
//! be left out would else be cut and paid for.

use std::fs;

use crate::common::{RATCHET, root, run, stderr, stdout};

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

/// Every place of the command line where a name can stand, with a wrong one, and what has to be said.
const WRONG: [(&[&str], &str); 12] = [
    (
        &["--layer", "PLAET=existing"],
        "layer `PLAET` stands for nothing in the drawing: did you mean `PLATE`?",
    ),
    (
        &["--cut-layers", "OPNEING"],
        "layer `OPNEING` stands for nothing in the drawing: did you mean `OPENING`?",
    ),
    (
        &["--ignore-layers", "CENTER"],
        "layer `CENTER` stands for nothing in the drawing: did you mean `CENTRE`?",
    ),
    (
        &["--demand", "layer OPENNIG=finish N3"],
        "layer `OPENNIG` stands for nothing",
    ),
    (
        &["--demand", "layer Q=finish N3"],
        "layer `Q` stands for nothing in the drawing",
    ),
    (
        &["--contour", "9=existing"],
        "contour 9 stands for nothing in the drawing: the nearest is 8",
    ),
    (
        &["--contour", "0=existing"],
        "contour 0 stands for nothing in the drawing: the nearest is 1",
    ),
    (
        &["--demand", "contour 99=passes 1"],
        "contour 99 stands for nothing in the drawing: the nearest is 8",
    ),
    (&["--start", "12:0,0"], "contour 12 stands for nothing"),
    (&["--entry", "12:0,0"], "contour 12 stands for nothing"),
    (
        &["--linetype", "CENTRE9=ignore"],
        "linetype `CENTRE9` stands for nothing in the drawing: did you mean `CENTER`?",
    ),
    (
        &["--line-color", "77=ignore"],
        "colour 77 stands for nothing in the drawing: the nearest is",
    ),
];

#[test]
fn a_wrong_name_is_refused_with_the_nearest_on_every_command() {
    for (wrong, said) in WRONG {
        let plan = [&["plan", DIE], &JOB[..], wrong].concat();
        let compare = [&["compare", DIE], &JOB[..4], wrong].concat();
        for arguments in [plan, compare] {
            let output = run(&arguments);
            assert_eq!(
                output.status.code(),
                Some(2),
                "{arguments:?}: {}",
                stdout(&output)
            );
            assert!(
                stderr(&output).contains(said),
                "{arguments:?}: {}",
                stderr(&output)
            );
            assert!(output.stdout.is_empty(), "{arguments:?}");
        }
        // What is asked of the cut stands on no line of `inspect`.
        if !["--demand", "--start", "--entry"].contains(&wrong[0]) {
            let output = run(&[&["inspect", DIE], wrong].concat());
            assert_eq!(output.status.code(), Some(2), "inspect {wrong:?}");
            assert!(stderr(&output).contains(said), "{}", stderr(&output));
        }
    }
}

#[test]
fn a_right_name_may_be_written_in_another_case() {
    let output = run(&[
        "inspect",
        DIE,
        "--layer",
        "plate=existing",
        "--layer",
        "start=start-hole",
        "--linetype",
        "center=ignore",
        "--layer",
        "start=start-hole",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
}

#[test]
fn a_wrong_name_in_a_job_file_is_refused_too() {
    let folder = tempfile::tempdir().expect("a folder");
    let drawing = root().join(DIE).display().to_string();
    let keys = [
        ("cut_layers = [\"OPNEING\"]", "did you mean `OPENING`?"),
        ("ignore_layers = [\"PLAET\"]", "did you mean `PLATE`?"),
        ("[layer.PLAET]\nuse = \"existing\"", "did you mean `PLATE`?"),
        ("[layer.OPENNIG]\ntab = \"2\"", "did you mean `OPENING`?"),
        ("[contour.12]\nstart_mm = [1, 2]", "the nearest is 8"),
        ("[linetype.CENTRE9]\nuse = \"ignore\"", "did you mean `CENTER`?"),
        ("[color.77]\nuse = \"ignore\"", "the nearest is"),
    ];
    for (key, said) in keys {
        let job = folder.path().join("job.toml");
        let text = format!("drawing = \"{drawing}\"\nmaterial = \"tool-steel\"\nthickness_mm = 30\n{key}\n");
        fs::write(&job, text).expect("written");
        let path = job.to_str().expect("a path in UTF-8");
        let output = run(&["plan", path]);
        assert_eq!(output.status.code(), Some(2), "{key}: {}", stdout(&output));
        assert!(stderr(&output).contains(said), "{key}: {}", stderr(&output));
        // Alone in a quote the job's own drawing is refused, since the name is its own.
        let row = run(&["quote", path, "--json"]);
        assert_eq!(row.status.code(), Some(1), "{key}");
        assert!(
            stdout(&row).contains("\"refused\"") && stdout(&row).contains(said),
            "{}",
            stdout(&row)
        );
    }
}

/// The layer PLATE is in one of the two drawings: the other's row warns. PLAET is in none.
#[test]
fn a_name_for_many_drawings_may_miss_in_some_but_not_in_all() {
    let ask = [
        "--thickness",
        "30",
        "--material",
        "tool-steel",
        "--finish",
        "N7",
        "--layer",
        "START=start-hole",
        "--in-order",
        "--json",
    ];
    let both = |layer: &'static str| {
        let told = ["--layer", "START=start-hole", "--layer", layer];
        [&["quote", RATCHET, DIE], &ask[..], &told].concat()
    };
    let output = run(&both("PLATE=existing"));
    let rows: Vec<serde_json::Value> = stdout(&output)
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    assert_eq!(rows.len(), 2, "{}", stderr(&output));
    assert!(
        rows[0]["worst_finding"]
            .as_str()
            .expect("a text")
            .contains("warning"),
        "{}",
        rows[0]
    );
    assert_eq!(rows[0]["status"], "planned");
    assert_eq!(rows[1]["status"], "planned");
    let wrong = run(&both("PLAET=existing"));
    assert_eq!(wrong.status.code(), Some(2), "{}", stdout(&wrong));
    assert!(wrong.stdout.is_empty());
    let said = stderr(&wrong);
    assert!(
        said.contains("in none of the 2 drawings that can be read: layer `PLAET`"),
        "{said}"
    );
    assert!(run(&["explain", "name-not-in-drawing"]).status.success());
}
