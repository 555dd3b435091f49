//! What the print demands, from the command line: `plan` that chooses, `compare`, `book`, `calibrate`, job files.

use std::fs;
use std::io::Write;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

const RECTANGLE: &str = "fixtures/shapes/rectangle-40x20.dxf";
const RATCHET: &str = "fixtures/clock/ratchet.dxf";
const LOG: &str = "fixtures/shop/finished-jobs.csv";

fn kerfwright() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_kerfwright"));
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    command
}

fn run(arguments: &[&str]) -> Output {
    kerfwright().args(arguments).output().expect("the command starts")
}

fn run_with_input(arguments: &[&str], input: &str) -> Output {
    let mut child = kerfwright()
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    stdin.write_all(input.as_bytes()).expect("it reads all");
    drop(stdin);
    child.wait_with_output().expect("it ends")
}

fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("text")
}

fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("text")
}

fn json(arguments: &[&str]) -> Value {
    let mut arguments = arguments.to_vec();
    arguments.push("--json");
    let output = run(&arguments);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {}", stderr(&output)))
}

fn rows<'a>(value: &'a Value, key: &str) -> &'a Vec<Value> {
    value[key].as_array().unwrap_or_else(|| panic!("no list `{key}`"))
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

/// A plate with a round bore of 25 mm.
fn bore() -> String {
    let circle = |layer: &str, radius: &str| format!("0\nCIRCLE\n8\n{layer}\n10\n40\n20\n40\n40\n{radius}\n");
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
         {}{}0\nENDSEC\n0\nEOF\n",
        circle("PLATE", "30"),
        circle("BORE", "12.5")
    )
}

/// ISO 286-2: 25H7 is 0/+21 µm, so that mid-limit lies 5.25 µm a wall outside nominal. With 0.25 mm wire the last
/// pass of four runs at 130 µm: 12.5 − 0.130 + 0.00525.
#[test]
fn a_25h7_bore_is_cut_to_mid_limit() {
    let arguments = [
        "plan",
        "-",
        "--thickness",
        "30",
        "--material",
        "tool-steel",
        "--wire",
        "0.25",
        "--passes",
        "4",
        "--tolerance",
        "25H7",
        "--layer",
        "PLATE=existing",
        "--json",
    ];
    let output = run_with_input(&arguments, &bore());
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let plan: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert!((number(&plan["aim_mm"]) - 0.005_25).abs() < 1e-12);
    assert_eq!(plan["asked"][0]["upper_mm"], 0.021);
    assert_eq!(plan["quality"][0]["verdict"], "expected-inside");
    let last = rows(&plan, "paths")
        .iter()
        .find(|path| path["pass"] == 4)
        .expect("a last pass");
    let vertices = rows(last, "vertices");
    assert!(!vertices.is_empty());
    for vertex in vertices {
        let radius = (number(&vertex[0]) - 40.0).hypot(number(&vertex[1]) - 40.0);
        assert!((radius - 12.375_25).abs() < 1e-6, "{radius}");
    }
    let length = number(&last["length_mm"]);
    assert!(
        (length - std::f64::consts::TAU * 12.375_25).abs() < 1e-6,
        "{length}"
    );
}

#[test]
fn a_demand_is_chosen_for_and_every_estimate_has_its_band() {
    let arguments = [
        "plan",
        RATCHET,
        "--thickness",
        "8",
        "--material",
        "tool-steel",
        "--finish",
        "N6",
    ];
    let plan = json(&arguments);
    let passes = rows(&plan, "passes");
    let last = passes.last().expect("passes");
    assert!(number(&last["ra_um"]) <= 0.8, "N6 is Ra 0.8 (ISO 1302)");
    let taken = &rows(&plan, "candidates")[0];
    assert_eq!(taken["chosen"], true);
    assert_eq!(taken["passes"], passes.len());
    // One pass fewer is refused with its reason.
    let fewer = rows(&plan, "candidates").iter().find(|candidate| {
        candidate["wire_mm"] == taken["wire_mm"]
            && candidate["wire_kind"] == taken["wire_kind"]
            && candidate["passes"] == passes.len() - 1
    });
    let fewer = fewer.expect("one pass fewer is weighed");
    assert_eq!(fewer["feasible"], false);
    assert!(
        fewer["reasons"][0].as_str().expect("a reason").contains("Ra"),
        "{fewer}"
    );

    let estimate = &plan["estimate"];
    let bands = [
        "cut_minutes",
        "total_minutes",
        "wire_m",
        "wire_kg",
        "cost",
        "price",
    ]
    .map(|key| &estimate[key]);
    let terms = ["fixed", "each"].map(|key| rows(&estimate["ledger"], key));
    let terms = rows(estimate, "time_terms")
        .iter()
        .chain(terms.into_iter().flatten());
    let mut seen = 0;
    for band in bands.into_iter().chain(terms) {
        let [low, expected, high] = ["low", "expected", "high"].map(|end| number(&band[end]));
        assert!(low <= expected && expected <= high, "{band}");
        seen += 1;
    }
    assert!(seen > 12, "only {seen} terms");
    let accuracy = &plan["accuracy"];
    assert_eq!(accuracy["k"], 2.0);
    // JCGM 100, 5.1.2 and 6.2.1: k times the root of the sum of squares.
    let squares: f64 = rows(accuracy, "terms")
        .iter()
        .map(|term| number(&term["on_size_um"]["expected"]).powi(2))
        .sum();
    let expanded = number(&accuracy["expanded_um"]["expected"]);
    assert!((expanded - 2.0 * squares.sqrt()).abs() < 1e-9, "{expanded}");
    let told = stdout(&run(&arguments));
    assert!(
        told.contains("not calibrated: within a factor of two, not for quoting"),
        "{told}"
    );
}

#[test]
fn every_figure_can_be_traced() {
    let output = run(&[
        "plan",
        RECTANGLE,
        "--thickness",
        "60",
        "--material",
        "tool-steel",
        "--wire",
        "0.25",
        "--passes",
        "4",
        "--explain-numbers",
    ]);
    let text = stdout(&output);
    for figure in [
        "area rate of pass 1",
        "offset of pass 4",
        "total time",
        "price of the order",
        "recast layer",
    ] {
        assert!(text.contains(&format!("{figure} = ")), "{figure}: {text}");
    }
    let plan = json(&[
        "plan",
        RECTANGLE,
        "--thickness",
        "60",
        "--material",
        "tool-steel",
        "--wire",
        "0.25",
        "--passes",
        "4",
    ]);
    for figure in rows(&plan, "figures") {
        assert!(
            text.contains(figure["formula"].as_str().expect("a formula")),
            "{figure}"
        );
        for term in rows(figure, "terms") {
            let source = term["source"].as_str().expect("a source");
            assert!(text.contains(source), "{term}");
        }
    }
}

#[test]
fn what_no_pass_reaches_is_planned_as_the_nearest_and_told() {
    let output = run(&[
        "plan",
        RATCHET,
        "--thickness",
        "8",
        "--material",
        "tool-steel",
        "--finish",
        "Ra 0.01",
    ]);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    let text = stdout(&output);
    assert!(
        text.contains("nothing in the book reaches what is asked; planned is the nearest"),
        "{text}"
    );
    assert!(text.contains("0.01 µm is asked"), "{text}");
    let arguments = [
        "compare",
        RATCHET,
        "--thickness",
        "8",
        "--material",
        "tool-steel",
        "--finish",
        "Ra 0.01",
    ];
    let output = run(&arguments);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    assert!(stdout(&output).contains("nearest: "), "{}", stdout(&output));
    let comparison = json(&arguments);
    assert!(comparison["verified"].is_null());
    let mut reasons = rows(&comparison, "candidates")
        .iter()
        .map(|candidate| rows(candidate, "reasons").len());
    assert!(reasons.all(|count| count > 0), "every candidate says why not");
}

#[test]
fn what_cannot_be_asked_is_one_clear_error() {
    for (arguments, said) in [
        (&["--material", "tool-stel"][..], "did you mean `tool-steel`"),
        (&["--material", "magnesium"], "magnesium"),
        (&[], "--material NAME"),
        (
            &["--material", "tool-steel", "--thickness", "900"],
            "900 mm is too thick for 0.25 mm wire, which cuts up to 300 mm",
        ),
        (&["--material", "tool-steel", "--finish", "fine"], "--finish"),
        (
            &["--material", "tool-steel", "--tolerance", "tight"],
            "--tolerance 25H7",
        ),
        (
            &["--material", "tool-steel", "--machine", "no such"],
            "--machine NAME",
        ),
        (
            &["--material", "tool-steel", "--prefer", "luck"],
            "--prefer <WHAT>",
        ),
        (
            &["--material", "tool-steel", "--nozzles", "off"],
            "--nozzles <HOW>",
        ),
        (&["--material", "tool-steel", "--quantity", "0"], "quantity"),
        (
            &["--material", "tool-steel", "--inside-radius", "-1"],
            "--inside-radius <MM>",
        ),
        (
            &["--material", "tool-steel", "--demand", "DIE=thin"],
            "--demand <SCOPE=DEMAND>",
        ),
    ] {
        for command in ["plan", "compare"] {
            let mut words = vec![command, RATCHET];
            if !arguments.contains(&"--thickness") {
                words.extend(["--thickness", "8"]);
            }
            words.extend(arguments);
            let output = run(&words);
            let error = stderr(&output);
            let impossible = command == "compare" && said.starts_with("900 mm");
            let code = if impossible { 1 } else { 2 };
            assert_eq!(output.status.code(), Some(code), "{words:?}: {error}");
            if !impossible {
                assert!(output.stdout.is_empty(), "{words:?}");
                assert!(error.contains(said), "{words:?}: {error}");
            }
        }
    }
}

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
    for key in [
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
    ] {
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

#[test]
fn a_new_book_is_sound_and_a_broken_one_is_told_line_by_line() {
    let room = tempfile::tempdir().expect("a folder");
    let file = room.path().join("shop.toml");
    let path = file.to_str().expect("a path");
    let check = || run(&["book", "check", path]);
    assert_eq!(run(&["book", "init", "--out", path]).status.code(), Some(0));
    assert_eq!(check().status.code(), Some(0), "{}", stdout(&check()));
    let again = run(&["book", "init", "--out", path]);
    assert_eq!(again.status.code(), Some(2), "a book is never written over");
    let text = fs::read_to_string(&file).expect("a book");
    assert_eq!(text, stdout(&run(&["book", "init"])));
    fs::write(
        &file,
        "[material.tool-steel]\nrate_mm2_min = \"fast\"\n[demand]\nmachine = \"none\"\n",
    )
    .expect("written");
    let broken = check();
    assert_eq!(broken.status.code(), Some(1));
    for line in ["line 2", "line 4", "2 flaws"] {
        assert!(stdout(&broken).contains(line), "{line}: {}", stdout(&broken));
    }
    let doubtful = "[recipe.mine]\npass = [{ ra_um = 2 }, { taken_um = 1, ra_um = 3 }]\n";
    fs::write(&file, doubtful).expect("written");
    assert!(
        stdout(&check()).contains("doubtful: mine, pass 2: its Ra of 3"),
        "{}",
        stdout(&check())
    );
    let shown = json(&["book", "show", "tool-steel", "--book", path]);
    for row in rows(&shown, "numbers") {
        assert!(
            row["source"].is_string() && row["basis"].is_string() && row["low"].is_number(),
            "{row}"
        );
    }
}

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
    let learned = json(&["calibrate", LOG]);
    let fit = &rows(&learned, "fits")[0];
    // The log was made with rates 1.25 times the book's, 42 fixed minutes, a scatter of 7 % and one wild row.
    assert!(
        (number(&fit["rate_factor"]["expected"]) / 1.25 - 1.0).abs() < 0.05,
        "{fit}"
    );
    assert!(number(&fit["error_after_percent"]) < number(&fit["error_before_percent"]));
    assert!(rows(fit, "wild_lines").contains(&Value::from(6)), "{fit}");
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
