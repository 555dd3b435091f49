//! Where there are links, pipes, devices and signals.

use std::fs::{self, File};
use std::io::{BufRead as _, BufReader};
use std::os::unix::fs::symlink;
use std::os::unix::process::ExitStatusExt as _;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};

use super::files_of;
use crate::common::{RECTANGLE, kerfwright, names_in, run, run_with_input, stderr};
use crate::quote::{ASKED, Rows, quote, rectangles, text, with};

/// Formulas in what a stranger chose: the name of a file, of a layer, and a material that the book does not have.
#[test]
fn a_table_holds_no_formula() {
    let room = rectangles(1);
    let name = "=HYPERLINK(\"x\");-1.dxf";
    fs::rename(room.path().join("part-0.dxf"), room.path().join(name)).expect("renamed");
    let table = room.path().join("quote.csv");
    let in_room = |arguments: &[&str]| -> Output {
        let mut command = kerfwright();
        command
            .current_dir(room.path())
            .arg("quote")
            .args(arguments)
            .args(["--out", "quote.csv"]);
        command.output().expect("it starts")
    };
    let output = in_room(&[&[name][..], &ASKED].concat());
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert_eq!(files_of(&table), ["'=HYPERLINK(\"x\");'-1.dxf"]);
    let again = in_room(&[&[name][..], &ASKED].concat());
    assert!(
        stderr(&again).contains("1 rows stood in the table already"),
        "{}",
        stderr(&again)
    );
    fs::write(
        room.path().join("jobs.csv"),
        "file,material,thickness_mm\n'=a.dxf,@steel,8\n",
    )
    .expect("written");
    let output = in_room(&["jobs.csv", name, "--only", "--thickness", "8"]);
    let rows = fs::read(&table).unwrap_or_default();
    let materials = Rows::read(&rows);
    assert_eq!(materials.column("material")[0], "'@steel", "{}", stderr(&output));
    assert_eq!(materials.column("file")[0], "'=a.dxf");
}

#[test]
fn what_is_no_file_or_has_no_end_is_refused() {
    let room = rectangles(1);
    let path = |name: &str| room.path().join(name);
    for pipe in ["pipe.dxf", "pipe.toml", "pipe.csv"] {
        assert!(
            Command::new("mkfifo")
                .arg(path(pipe))
                .status()
                .expect("it starts")
                .success()
        );
    }
    // Two gigabytes of nothing, which take no room.
    File::create(path("huge.dxf"))
        .and_then(|file| file.set_len(2_000_000_000))
        .expect("a large file");
    symlink("/dev/zero", path("zero.dxf")).expect("linked");
    let began = Instant::now();
    let names = ["pipe.dxf", "pipe.toml", "pipe.csv", "huge.dxf", "zero.dxf"].map(path);
    let named: Vec<&str> = names.iter().map(|path| text(path)).collect();
    let output = run(&[&["quote", "--in-order"], &named[..], &ASKED].concat());
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    let rows = Rows::read(&output.stdout);
    assert_eq!(rows.column("status"), ["refused"; 5]);
    for (reason, at) in rows.column("reason").into_iter().zip(0..) {
        let words = if at == 3 {
            "larger than 1000 MB; `--largest-file MB`"
        } else {
            "is no file"
        };
        assert!(reason.contains(words), "{at}: {reason}");
    }
    for (file, words) in [
        ("pipe.dxf", "is no file"),
        ("huge.dxf", "larger than 1000 MB"),
        ("zero.dxf", "is no file"),
    ] {
        let output = run(&["inspect", text(&path(file))]);
        assert_eq!(output.status.code(), Some(2));
        assert!(stderr(&output).contains(words), "{}", stderr(&output));
    }
    // Standard input has no size: it is read as far as it may go.
    let output = run_with_input(&["inspect", "-", "--largest-file", "0"], "0\nEOF\n");
    assert!(
        stderr(&output).contains("larger than 0 MB"),
        "{}",
        stderr(&output)
    );
    for table in ["pipe.csv", "huge.csv"] {
        if table == "huge.csv" {
            fs::rename(path("huge.dxf"), path(table)).expect("renamed");
        }
        let output = with(&[text(&path("part-0.dxf"))], &path(table));
        assert_eq!(output.status.code(), Some(2), "{table}");
    }
    assert!(
        began.elapsed() < Duration::from_secs(20),
        "nothing waits for a writer"
    );
}

#[test]
fn a_link_to_a_table_stays_one() {
    let room = rectangles(2);
    let results = tempfile::tempdir().expect("a folder");
    fs::create_dir(results.path().join("real")).expect("made");
    let (real, link) = (
        results.path().join("real/table.csv"),
        results.path().join("link.csv"),
    );
    symlink("real/table.csv", &link).expect("linked");
    for _ in 0..2 {
        let output = with(&[text(room.path()), "--in-order"], &link);
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        assert!(link.symlink_metadata().expect("there").is_symlink());
        assert_eq!(files_of(&real).len(), 2);
        fs::copy(room.path().join("part-0.dxf"), room.path().join("part-1.dxf")).expect("changed");
    }
    assert_eq!(names_in(results.path()), ["link.csv", "real"]);
}

/// Sends a signal at once: a shell of its own would come too late on a busy machine.
fn send(signal: Signal, child: &Child) {
    kill_process(Pid::from_child(child), signal).expect("it is not waited for yet");
}

fn left_behind(folder: &Path) -> bool {
    names_in(folder)
        .iter()
        .any(|name| name.starts_with(".kerfwright-") && name != ".kerfwright-results")
}

/// The signal comes while a result is being written.
#[test]
fn a_signal_leaves_no_temporary_file() {
    const DRAWING: &str = "fixtures/shapes/plate-200-holes.dxf";
    for signal in [Signal::INT, Signal::TERM, Signal::HUP] {
        let mut ended = 0;
        for _ in 0..30 {
            let out = tempfile::tempdir().expect("a folder");
            let mut command = kerfwright();
            command.args([
                "plan",
                DRAWING,
                "--wire",
                "0.25",
                "--passes",
                "2",
                "--formats",
                "svg,json,dxf,html",
                "--out",
            ]);
            command
                .arg(out.path())
                .args(&ASKED[..4])
                .stdout(Stdio::null())
                .stderr(Stdio::null());
            let mut child = command.spawn().expect("it starts");
            let began = Instant::now();
            while !left_behind(out.path()) && child.try_wait().expect("it runs").is_none() {
                assert!(began.elapsed() < Duration::from_secs(60));
                sleep(Duration::from_micros(200));
            }
            send(signal, &child);
            let status = child.wait().expect("it ends");
            assert!(!left_behind(out.path()), "{signal:?}: {:?}", names_in(out.path()));
            assert_eq!(status.signal(), None);
            if status.code() == Some(128 + signal.as_raw()) {
                ended += 1;
                break;
            }
        }
        assert!(ended > 0, "{signal:?} never came in time");
    }
}

/// A table is locked while it is worked on; the lock goes with the run. What is told to ignore hang-ups goes on.
#[test]
fn a_signal_leaves_a_table_without_a_lock() {
    let room = rectangles(40);
    for (before, signal, code) in [("", Signal::TERM, 143), ("trap '' HUP;", Signal::HUP, 0)] {
        let results = tempfile::tempdir().expect("a folder");
        let table = results.path().join("quote.csv");
        let mut inner = quote(
            &[
                &[text(room.path()), "--workers", "1"],
                &ASKED[..],
                &["--out", text(&table)],
            ]
            .concat(),
        );
        let program = inner.get_program().to_owned();
        let mut command = Command::new("sh");
        command
            .arg("-c")
            .arg(format!("{before} exec \"$@\""))
            .arg("sh")
            .arg(program)
            .args(inner.get_args());
        inner.current_dir("/");
        let mut child = command
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it starts");
        let began = Instant::now();
        while fs::read_to_string(&table).map_or(0, |text| text.lines().count()) < 5 {
            assert!(began.elapsed() < Duration::from_secs(60), "no rows come");
            sleep(Duration::from_millis(1));
        }
        assert_eq!(names_in(results.path()), [".quote.csv.lock", "quote.csv"]);
        send(signal, &child);
        let said: Vec<_> = BufReader::new(child.stderr.take().expect("a pipe"))
            .lines()
            .collect();
        assert_eq!(child.wait().expect("it ends").code(), Some(code), "{said:?}");
        assert_eq!(names_in(results.path()), ["quote.csv"], "{signal:?}");
    }
}

#[test]
fn a_result_too_large_for_the_user_is_told() {
    let out = tempfile::tempdir().expect("a folder");
    let mut command = Command::new("sh");
    command.args([
        "-c",
        "ulimit -f 8; exec \"$@\"",
        "sh",
        env!("CARGO_BIN_EXE_kerfwright"),
    ]);
    command
        .args(["plan", RECTANGLE, "--out", text(out.path())])
        .args(ASKED);
    let output = command.output().expect("it starts");
    assert_eq!(output.status.code(), Some(2), "{:?}", output.status);
    assert!(stderr(&output).contains("File too large"), "{}", stderr(&output));
    assert!(!left_behind(out.path()), "{:?}", names_in(out.path()));
}
