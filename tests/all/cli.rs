//! The command line from outside: what it prints where, how it ends, and that bad input leaves nothing behind.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

use crate::common::{RECTANGLE, kerfwright, names_in, run, run_with_input, stderr, stdout};

/// `plan` of the rectangle with what a test wants otherwise.
fn plan_arguments<'a>(otherwise: &[(&'a str, &'a str)]) -> Vec<&'a str> {
    let usual = [
        ("--thickness", "60"),
        ("--material", "tool-steel"),
        ("--wire", "0.25"),
        ("--passes", "4"),
    ];
    let mut arguments = vec!["plan", RECTANGLE];
    for (name, value) in usual {
        let value = otherwise
            .iter()
            .find(|(other, _)| *other == name)
            .map_or(value, |(_, value)| value);
        arguments.extend([name, value]);
    }
    for (name, value) in otherwise
        .iter()
        .filter(|(name, _)| usual.iter().all(|(usual, _)| usual != name))
    {
        arguments.extend([*name, *value]);
    }
    arguments
}

/// Results in a folder, beside the list of whose they are.
fn entries(folder: &Path) -> usize {
    names_in(folder)
        .iter()
        .filter(|name| !name.starts_with('.'))
        .count()
}

#[test]
fn plan_prints_what_the_closed_forms_say() {
    let mut arguments = plan_arguments(&[]);
    arguments.push("--json");
    let output = run(&arguments);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!(output.stderr.is_empty());
    let plan: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let number = |value: &Value| value.as_f64().expect("a number");
    let passes = plan["passes"].as_array().expect("passes");
    let offsets_um: Vec<f64> = passes
        .iter()
        .map(|pass| (number(&pass["offset_mm"]) * 1e6).round() / 1e3)
        .collect();
    assert_eq!(offsets_um, [197.0, 152.0, 137.0, 130.0]);
    let contour_length = number(&plan["contours"][0]["perimeter_mm"]);
    let thickness = number(&plan["thickness_mm"]);
    for pass in passes {
        // Steiner's formula for the parallel curve of a convex contour.
        let length = number(&pass["path_length_mm"]);
        let expected = contour_length + 2.0 * std::f64::consts::PI * number(&pass["offset_mm"]);
        assert!((length - expected).abs() < 1e-9, "{length} is not {expected}");
        let minutes = length * thickness / number(&pass["area_rate_mm2_min"]);
        assert!((number(&pass["minutes"]) - minutes).abs() < 1e-9 * minutes);
        assert!((number(&pass["cut_area_mm2"]) - length * thickness).abs() < 1e-6);
    }
    for path in plan["paths"].as_array().expect("paths") {
        assert!(path["verified_um"].as_f64().expect("measured") < 0.1);
        assert_eq!(path["closed"], true);
    }
}

#[test]
fn out_holds_the_same_bytes_as_the_pipes() {
    let room = tempfile::tempdir().expect("a folder");
    let folder = room.path().join("new/folder");
    let output = run(&plan_arguments(&[("--out", folder.to_str().expect("a path"))]));
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    for (flag, name) in [
        ("--json", "rectangle-40x20.json"),
        ("--svg", "rectangle-40x20.svg"),
    ] {
        let mut arguments = plan_arguments(&[]);
        arguments.push(flag);
        assert_eq!(
            fs::read(folder.join(name)).expect("a result"),
            run(&arguments).stdout,
            "{name}"
        );
    }
    assert_eq!(
        entries(&folder),
        4,
        "the paths as DXF, the job sheet, and nothing else"
    );
}

#[test]
fn formats_choose_what_is_written() {
    let room = tempfile::tempdir().expect("a folder");
    let out = room.path().to_str().expect("a path");
    let output = run(&plan_arguments(&[("--out", out), ("--formats", "dxf")]));
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert_eq!(entries(room.path()), 1);
    let here = fs::read(room.path().join("rectangle-40x20-paths.dxf")).expect("the paths");
    // The clock of another place changes nothing.
    let elsewhere = tempfile::tempdir().expect("a folder");
    let out = elsewhere.path().to_str().expect("a path");
    let output = kerfwright()
        .env("TZ", "Asia/Kathmandu")
        .args(plan_arguments(&[("--out", out), ("--formats", "dxf")]))
        .output()
        .expect("the command starts");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!(here == fs::read(elsewhere.path().join("rectangle-40x20-paths.dxf")).expect("the paths"));
}

#[test]
fn inspect_reads_standard_input() {
    let drawing = fs::read(RECTANGLE).expect("a fixture");
    let output = run_with_input(&["inspect", "-", "--json"], &drawing);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let inspection: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(inspection["file"], "stdin");
    assert_eq!(inspection["totals"]["cut_perimeter_mm"], 120.0);
    let sheet = run_with_input(&["inspect", "-", "--svg"], &drawing);
    assert!(stdout(&sheet).starts_with("<svg "), "{}", stdout(&sheet));
}

/// Runs a command that cannot run and returns its one error.
fn refused(arguments: &[&str], input: &[u8]) -> String {
    let room = tempfile::tempdir().expect("a folder");
    let folder = room.path().join("out");
    let mut arguments = arguments.to_vec();
    arguments.extend(["--out", folder.to_str().expect("a path")]);
    let output = run_with_input(&arguments, input);
    let error = stderr(&output);
    assert_eq!(output.status.code(), Some(2), "{arguments:?}: {error}");
    assert!(output.stdout.is_empty(), "{arguments:?}: {}", stdout(&output));
    assert_eq!(error.matches("error:").count(), 1, "{arguments:?}: {error}");
    assert!(!folder.exists(), "{arguments:?} wrote something");
    error
}

#[test]
fn bad_drawings_are_one_clear_error() {
    let plan = |file| {
        let mut arguments = plan_arguments(&[]);
        arguments[1] = file;
        arguments
    };
    assert!(refused(&plan("no/such.dxf"), b"").contains("no/such.dxf: cannot be read"));
    assert!(refused(&plan("fixtures"), b"").contains("fixtures: is a directory"));
    assert!(refused(&plan("-"), b"").contains("-: the file is empty"));
    assert!(refused(&plan("-"), b"Dear sir,\nplease cut this.\n").contains("not a DXF file"));
    assert!(refused(&["inspect", "-"], b"\x89PNG\r\n\x1a\n").contains("-: "));
}

#[test]
fn bad_demands_are_one_clear_error_that_names_the_option() {
    for (option, value, said) in [
        ("--thickness", "0", "--thickness MM"),
        ("--thickness", "-3", "--thickness MM"),
        ("--thickness", "NaN", "--thickness <LENGTH>"),
        ("--thickness", "inf", "--thickness <LENGTH>"),
        ("--thickness", "thick", "--thickness <LENGTH>"),
        ("--thickness", "301", "--wire MM"),
        ("--material", "tool-stel", "did you mean `tool-steel`"),
        ("--material", "magnesium", "magnesium"),
        ("--wire", "0.26", "--wire MM"),
        ("--wire", "0", "--wire MM"),
        ("--wire", "NaN", "--wire <LENGTH>"),
        ("--passes", "0", "--passes N"),
        ("--passes", "99", "--passes N"),
        ("--passes", "two", "--passes <N>"),
        ("--aim", "5", "--aim MM"),
        ("--fit", "0", "--fit <LENGTH>"),
        ("--drawing-unit", "furlong", "--drawing-unit <UNIT>"),
        ("--layer", "PLATE", "--layer <NAME=USE>"),
        ("--contour", "one=cut", "--contour <N=USE>"),
        ("--book", "no/such.toml", "--book FILE"),
    ] {
        let error = refused(&plan_arguments(&[(option, value)]), b"");
        assert!(error.contains(said), "{option} {value}: {error}");
    }
}

#[test]
fn a_flaw_of_the_book_is_told_with_its_line() {
    let room = tempfile::tempdir().expect("a folder");
    let book = room.path().join("book.toml");
    fs::write(&book, "[material.tool-steel]\nrate_mm2_min = \"fast\"\n").expect("written");
    let error = refused(
        &plan_arguments(&[("--book", book.to_str().expect("a path"))]),
        b"",
    );
    assert!(error.contains("line 2"), "{error}");
}

#[test]
fn unknown_words_bring_the_likely_one() {
    let output = run(&["inspct", RECTANGLE]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("'inspect'"), "{}", stderr(&output));
    let output = run(&["explain", "ignored-entites"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("did you mean `ignored-entities`?"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn results_that_cannot_be_written_are_told() {
    let room = tempfile::tempdir().expect("a folder");
    let file = room.path().join("taken");
    fs::write(&file, "mine").expect("written");
    let output = run(&plan_arguments(&[("--out", file.to_str().expect("a path"))]));
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("is a file, not a folder"),
        "{}",
        stderr(&output)
    );
    let below = file.join("below");
    let output = run(&plan_arguments(&[("--out", below.to_str().expect("a path"))]));
    assert_eq!(output.status.code(), Some(2), "{}", stderr(&output));
    assert_eq!(fs::read_to_string(&file).expect("still there"), "mine");
}

/// A device that is always full, where there is one.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let full = fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .expect("the device");
    let output = kerfwright()
        .args(["inspect", RECTANGLE])
        .stdout(full)
        .output()
        .expect("the command starts");
    assert_eq!(output.status.code(), Some(2), "{}", stderr(&output));
    assert!(
        stderr(&output).contains("standard output cannot be written"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn a_reader_that_leaves_early_is_no_failure() {
    let mut child = kerfwright()
        .args(["inspect", "fixtures/shapes/plate-200-holes.dxf", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!(output.stderr.is_empty(), "{}", stderr(&output));
}

#[test]
fn colour_is_for_terminals_or_when_asked() {
    let coloured = |command: &mut Command| {
        let output = command
            .args(["inspect", RECTANGLE])
            .output()
            .expect("the command starts");
        output.stdout.contains(&0x1b)
    };
    assert!(!coloured(&mut kerfwright()), "a pipe is no terminal");
    assert!(coloured(kerfwright().args(["--color", "always"])));
    assert!(
        coloured(kerfwright().args(["--color", "always"]).env("NO_COLOR", "1")),
        "the option wins"
    );
    assert!(
        !coloured(kerfwright().env("NO_COLOR", "1").env("CLICOLOR_FORCE", "1")),
        "NO_COLOR wins"
    );
    assert!(!coloured(
        kerfwright().args(["--color", "never"]).env("CLICOLOR_FORCE", "1")
    ));
}

#[test]
fn verbose_tells_the_time_of_each_step_beside_the_result() {
    let arguments = plan_arguments(&[]);
    let quiet = run(&arguments);
    let told = run(&[&arguments[..], &["--verbose"]].concat());
    assert!(quiet.stderr.is_empty(), "{}", stderr(&quiet));
    assert_eq!(stdout(&quiet), stdout(&told));
    let steps = stderr(&told);
    for step in [
        "file read",
        "tags of",
        "curves joined and chained",
        "widths of slots and walls measured",
        "paths laid and verified",
        "estimated",
        "result printed",
    ] {
        assert!(steps.contains(step), "{step} in {steps}");
    }
    let ms = steps
        .lines()
        .map(|line| line.trim_start().split(' ').next().map(str::parse::<f64>));
    assert!(
        ms.clone().all(|ms| matches!(ms, Some(Ok(ms)) if ms >= 0.0)),
        "{steps}"
    );
}

/// Editors of Windows end lines with two signs, and some begin a text with a byte order mark (Unicode 16.0, section 23.8).
#[test]
fn texts_are_read_however_their_lines_end() {
    let room = tempfile::tempdir().expect("a folder");
    let path = |name: &str| room.path().join(name);
    let text = |name: &str| path(name).to_str().expect("a path").to_owned();
    fs::copy(RECTANGLE, path("part.dxf")).expect("copied");
    let book = stdout(&run(&["book", "init"]));
    let texts = [
        (
            "job.toml",
            "drawing = \"part.dxf\"\nmaterial = \"tool-steel\"\nthickness_mm = 20\n",
        ),
        ("book.toml", &*book),
        ("jobs.csv", "file,material,thickness_mm\npart.dxf,tool-steel,20\n"),
        (
            "log.csv",
            &fs::read_to_string(crate::common::LOG).expect("a fixture"),
        ),
    ];
    let all = || {
        let (book, job) = (text("book.toml"), text("job.toml"));
        [
            vec!["plan", &job, "--book", &book, "--json"],
            vec!["quote", &text("jobs.csv")],
            vec!["calibrate", &text("log.csv")],
        ]
        .map(|arguments| {
            let output = run(&arguments);
            assert_ne!(
                output.status.code(),
                Some(2),
                "{arguments:?}: {}",
                stderr(&output)
            );
            stdout(&output)
        })
    };
    let mut read = Vec::new();
    for (before, end) in [("", "\n"), ("\u{feff}", "\r\n")] {
        for (name, content) in &texts {
            fs::write(path(name), before.to_owned() + &content.replace('\n', end)).expect("written");
        }
        read.push(all());
    }
    assert_eq!(read[0], read[1]);
}

#[cfg(unix)]
#[test]
fn a_path_that_is_no_text_is_a_path_all_the_same() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt as _;
    let room = tempfile::tempdir().expect("a folder");
    let drawing = room.path().join(OsStr::from_bytes(b"plate \xff.dxf"));
    fs::copy(RECTANGLE, &drawing).expect("a copy");
    let out = room.path().join("out");
    for command in ["inspect", "plan", "compare", "quote"] {
        let mut call = kerfwright();
        call.arg(command).arg(&drawing);
        if command != "inspect" {
            call.args(["--thickness", "20", "--material", "tool-steel", "--passes", "2"]);
        }
        if command == "plan" {
            call.arg("--out").arg(&out);
        }
        let output = call.output().expect("the command starts");
        assert_eq!(output.status.code(), Some(0), "{command}: {}", stderr(&output));
        assert!(
            stdout(&output).contains("plate \u{fffd}.dxf"),
            "{command}: {}",
            stdout(&output)
        );
    }
    assert_eq!(entries(&out), 4);
    fs::remove_file(&drawing).expect("removed");
    let output = kerfwright()
        .arg("inspect")
        .arg(&drawing)
        .output()
        .expect("the command starts");
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("plate \u{fffd}.dxf: cannot be read"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn every_check_can_be_explained() {
    let list = stdout(&run(&["explain"]));
    for check in kerfwright::check::ALL {
        assert!(list.contains(check.name), "{} is not listed", check.name);
        let output = run(&["explain", check.name]);
        assert_eq!(output.status.code(), Some(0));
        for words in [check.looks_for, check.why, check.what_to_do] {
            assert!(stdout(&output).contains(words), "{}", check.name);
        }
    }
}

#[test]
fn the_exit_code_tells_errors_from_a_clean_result() {
    let mut fired = 0;
    for check in kerfwright::check::ALL {
        let file = format!("fixtures/checks/{}-fires.dxf", check.name);
        let output = run(&["inspect", &file, "--json"]);
        if output.status.code() == Some(2) {
            continue;
        }
        let inspection: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        let findings = inspection["findings"].as_array().expect("findings");
        let error = findings.iter().any(|finding| finding["severity"] == "error");
        assert_eq!(output.status.code(), Some(i32::from(error)), "{file}");
        fired += findings.len();
    }
    assert!(fired > 0, "no fixture fired");
}

#[test]
fn the_example_in_each_help_runs() {
    for command in [
        "inspect",
        "plan",
        "compare",
        "quote",
        "calibrate",
        "book",
        "explain",
        "schema",
        "completions",
        "man",
    ] {
        let help = stdout(&run(&[command, "--help"]));
        let (_, example) = help.split_once("Example: kerfwright ").expect("an example");
        let room = tempfile::tempdir().expect("a folder");
        let mut before = "";
        let words = example.split_whitespace().map(|word| {
            // Into a folder of its own, a table of rows under its own name.
            let table = Path::new(word)
                .extension()
                .is_some_and(|extension| extension == "csv");
            let out = match (before, table) {
                ("--out", true) => room.path().join(word),
                ("--out", false) => room.path().to_owned(),
                _ => word.into(),
            };
            before = word;
            out.to_str().expect("a path").to_owned()
        });
        let words: Vec<String> = words.collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let output = run(&words);
        assert_eq!(output.status.code(), Some(0), "{example}: {}", stderr(&output));
    }
}

/// What `--start` and its like ask for is what a job file asks for, and stands in the JSON.
#[test]
fn starts_leads_and_the_order_are_asked_for_on_the_command_line() {
    let sheet = "fixtures/checks/slug-may-jam-clean.dxf";
    let usual = [
        "--thickness",
        "60",
        "--material",
        "tool-steel",
        "--wire",
        "0.25",
        "--passes",
        "2",
    ];
    let asked = [
        "--start",
        "2:18,15",
        "--start",
        "20,-3",
        "--entry",
        "1:0,10",
        "--lead",
        "arc",
        "--overlap",
        "0.5",
        "--sharp-corners",
        "1.42",
        "--stops",
        "each",
        "--json",
    ];
    let arguments = [&["plan", sheet][..], &usual, &asked].concat();
    let found: Value = serde_json::from_slice(&run(&arguments).stdout).expect("JSON");
    let starts = found["starts"].as_array().expect("starts");
    let of = |contour: u64| {
        starts
            .iter()
            .find(|start| start["contour"] == contour)
            .expect("a start")
    };
    assert_eq!(of(2)["at_mm"], serde_json::json!([18.0, 15.0]));
    assert_eq!(of(1)["at_mm"], serde_json::json!([20.0, -3.0]));
    assert!(starts.iter().all(|start| start["origin"] == "given"));
    let leads = found["leads"].as_array().expect("leads");
    assert_eq!(leads.len(), 4);
    assert!(leads.iter().all(|lead| lead["overlap_mm"] == 0.5));
    let outside = leads.iter().find(|lead| lead["contour"] == 1).expect("a lead");
    let offset_mm = found["passes"][0]["offset_mm"].as_f64().expect("an offset");
    let entry = outside["entry_mm"].as_array().expect("a place");
    let entry = [0, 1].map(|i| entry[i].as_f64().expect("mm"));
    assert!(
        (entry[0] + offset_mm).abs() < 1e-9 && (entry[1] - 10.0).abs() < 1e-9,
        "{entry:?}"
    );
    // Sharp round all four corners of a plate of 40 by 30.
    let path = found["paths"].as_array().expect("paths").iter();
    let mut path = path.filter(|path| path["contour"] == 1 && path["pass"] == 1);
    let length_mm = path.next().expect("a path")["length_mm"].as_f64().expect("mm");
    assert!((length_mm - 140.0 - 8.0 * offset_mm).abs() < 1e-9, "{length_mm}");
    let mut running = 0.0;
    for step in found["sequence"].as_array().expect("steps") {
        assert!((step["from_minutes"].as_f64().expect("min") - running).abs() < 1e-9);
        running += step["minutes"].as_f64().expect("min") + step["slower_minutes"].as_f64().expect("min");
    }

    let folder = tempfile::tempdir().expect("a folder");
    fs::copy(sheet, folder.path().join("sheet.dxf")).expect("copied");
    let job = "drawing = \"sheet.dxf\"\nmaterial = \"tool-steel\"\nthickness_mm = 60\nwire_mm = 0.25\npasses = 2\n\
               start_holes_mm = [[20, -3]]\nlead = \"arc\"\noverlap_mm = 0.5\nsharp_corners = 1.42\nstops = \"each\"\n\
               [contour.1]\nentry_mm = [0, 10]\n[contour.2]\nstart_mm = [18, 15]\n";
    let file = folder.path().join("job.toml");
    fs::write(&file, job).expect("written");
    let kept = run(&["plan", file.to_str().expect("text"), "--json"]);
    let kept: Value = serde_json::from_slice(&kept.stdout).expect("JSON");
    for part in ["starts", "leads", "sequence", "paths"] {
        assert_eq!(kept[part], found[part], "{part}");
    }
}

/// Starts the page with some options; gives the command under way and the address that it prints.
#[cfg(unix)]
fn serve(options: &[&str]) -> (std::process::Child, String) {
    use std::io::{BufRead, BufReader};
    let mut command = kerfwright()
        .arg("serve")
        .args(options)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts");
    let mut address = String::new();
    let stdout = command.stdout.take().expect("it is piped");
    BufReader::new(stdout)
        .read_line(&mut address)
        .expect("it prints its address");
    (command, address.trim().to_owned())
}

#[test]
#[cfg(unix)]
fn the_page_opens_on_this_machine_alone_and_closes_when_asked() {
    for signal in ["-INT", "-TERM"] {
        let (command, address) = serve(&["--port", "0"]);
        let at = address
            .strip_prefix("http://")
            .expect("an address")
            .trim_end_matches('/');
        assert!(at.starts_with("127.0.0.1:"), "{at}");
        let port = at.rsplit(':').next().expect("a port");
        let taken = run(&["serve", "--port", port]);
        assert_eq!(taken.status.code(), Some(2));
        assert!(stderr(&taken).contains("--port"), "{}", stderr(&taken));
        let asked = Command::new("kill")
            .args([signal, &command.id().to_string()])
            .status();
        assert!(asked.expect("kill runs").success());
        let ended = command.wait_with_output().expect("it ends");
        assert_eq!(ended.status.code(), Some(0), "{signal}");
    }
}

#[test]
#[cfg(unix)]
fn a_page_for_other_machines_warns_and_has_a_token() {
    let (mut command, address) = serve(&["--port", "0", "--address", "0.0.0.0"]);
    let (_, token) = address.split_once("/?token=").expect("a token");
    assert_eq!(token.len(), 32);
    command.kill().expect("it runs");
    let ended = command.wait_with_output().expect("it ends");
    assert!(
        stderr(&ended).contains("warning: ") && stderr(&ended).contains("unencrypted"),
        "{}",
        stderr(&ended)
    );
}
