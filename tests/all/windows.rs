//! What is otherwise on Windows: files that others hold open, drives, paths.
#![cfg(windows)]

use std::fs::{self, File, OpenOptions};
use std::os::windows::fs::OpenOptionsExt as _;
use std::path::{Path, PathBuf};
use std::thread::{sleep, spawn};
use std::time::Duration;

use crate::common::{RECTANGLE, kerfwright, names_in, run, stderr, stdout};
use crate::quote::{ASKED, Rows, rectangles, text, with};

/// Microsoft, "CreateFileW": FILE_SHARE_READ.
const OTHERS_READ: u32 = 1;

/// Opens a file as another program may: others can do no more than read it, or nothing at all.
fn held(file: &Path, others: u32) -> File {
    let mut options = OpenOptions::new();
    options
        .read(true)
        .share_mode(others)
        .open(file)
        .expect("it is there")
}

fn plan_into(out: &Path) -> std::process::Output {
    run(&[&["plan", RECTANGLE, "--out", text(out)], &ASKED[..]].concat())
}

#[test]
fn what_another_program_holds_open_is_told_and_read_when_it_is_closed() {
    let room = rectangles(2);
    let drawing = room.path().join("part-0.dxf");
    let holder = held(&drawing, 0);
    let refused = run(&["inspect", text(&drawing)]);
    assert_eq!(refused.status.code(), Some(2));
    for words in [
        "part-0.dxf: cannot be read: another program has it open",
        "close it there",
    ] {
        assert!(stderr(&refused).contains(words), "{}", stderr(&refused));
    }
    let quoted = run(&[&["quote", text(room.path()), "--in-order"], &ASKED[..]].concat());
    assert_eq!(quoted.status.code(), Some(1), "{}", stderr(&quoted));
    let rows = Rows::read(&quoted.stdout);
    assert_eq!(rows.column("status"), ["refused", "planned"]);
    assert!(rows.column("reason")[0].contains("another program has it open"));
    drop(holder);
    assert_eq!(run(&["inspect", text(&drawing)]).status.code(), Some(0));
    // Who only lets others read keeps nobody from reading.
    let _reader = held(&drawing, OTHERS_READ);
    assert_eq!(run(&["inspect", text(&drawing)]).status.code(), Some(0));
}

/// None of the results is replaced while one of them is open elsewhere, and nothing is left beside them.
#[test]
fn results_that_another_program_holds_open_stay_all_as_they_were() {
    let room = tempfile::tempdir().expect("a folder");
    assert_eq!(plan_into(room.path()).status.code(), Some(0));
    let names = names_in(room.path());
    for name in names.iter().filter(|name| !name.starts_with('.')) {
        fs::write(room.path().join(name), name).expect("written");
    }
    for others in [0, OTHERS_READ] {
        let holder = held(&room.path().join("rectangle-40x20.svg"), others);
        let refused = plan_into(room.path());
        assert_eq!(refused.status.code(), Some(2));
        let said = stderr(&refused);
        assert!(
            said.contains("rectangle-40x20.svg: cannot be written: another program has it open"),
            "{said}"
        );
        drop(holder);
        assert_eq!(names_in(room.path()), names);
        for name in names.iter().filter(|name| !name.starts_with('.')) {
            assert_eq!(fs::read_to_string(room.path().join(name)).expect("there"), *name);
        }
    }
    // What looks at a file for a moment is waited for.
    let holder = held(&room.path().join("rectangle-40x20.svg"), OTHERS_READ);
    let looked = spawn(move || {
        sleep(Duration::from_millis(600));
        drop(holder);
    });
    let done = plan_into(room.path());
    assert_eq!(done.status.code(), Some(0), "{}", stderr(&done));
    looked.join().expect("it ends");
}

#[test]
fn a_table_that_a_spreadsheet_holds_open_is_told() {
    let room = rectangles(1);
    let results = tempfile::tempdir().expect("a folder");
    let table = results.path().join("quote.csv");
    assert_eq!(with(&[text(room.path())], &table).status.code(), Some(0));
    let before = fs::read(&table).expect("a table");
    let holder = held(&table, OTHERS_READ);
    let refused = with(&[text(room.path()), "--in-order"], &table);
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        stderr(&refused).contains("quote.csv: cannot be written: another program has it open"),
        "{}",
        stderr(&refused)
    );
    drop(holder);
    assert_eq!(fs::read(&table).expect("a table"), before);
    assert_eq!(names_in(results.path()), ["quote.csv"], "no lock is left");
}

/// Plans and quotes a drawing by this path; what they call it.
fn works(drawing: &Path, out: &Path) {
    let planned = run(&[&["plan", text(drawing), "--out", text(out)], &ASKED[..]].concat());
    assert_eq!(planned.status.code(), Some(0), "{}", stderr(&planned));
    let name = drawing.file_name().expect("a name").to_string_lossy();
    assert!(stdout(&planned).contains(&*name), "{}", stdout(&planned));
    let stem = drawing.file_stem().expect("a name").to_string_lossy();
    for ending in [".svg", ".json", ".html", "-paths.dxf"] {
        assert!(out.join(format!("{stem}{ending}")).is_file(), "{stem}{ending}");
    }
    let table = out.join("Übersicht 1.csv");
    for said in ["1 drawings in", "1 rows stood in the table already"] {
        let quoted = with(&[text(drawing)], &table);
        assert_eq!(quoted.status.code(), Some(0), "{}", stderr(&quoted));
        assert!(stderr(&quoted).contains(said), "{}", stderr(&quoted));
    }
    fs::remove_dir_all(out).expect("removed");
}

#[test]
fn paths_of_every_kind_lead_to_their_drawing() {
    let room = tempfile::tempdir().expect("a folder");
    let folder = room.path().join("Aufträge & Größe 25 µm");
    fs::create_dir(&folder).expect("made");
    let drawing = folder.join("Zeiger – Schnitt 'ä' (2).dxf");
    fs::copy(RECTANGLE, &drawing).expect("copied");
    let out = room.path().join("aus gabe");
    works(&drawing, &out);
    works(Path::new(&text(&drawing).replace('\\', "/")), &out);
    // The form that lengthens paths, and the case of letters, which does not count.
    works(&fs::canonicalize(&drawing).expect("there"), &out);
    works(Path::new(&text(&drawing).replace("Zeiger", "ZEIGER")), &out);
    // A path on a share, where the machine offers its own.
    if let Some(share) = std::env::var_os("KERFWRIGHT_SHARE") {
        let share = PathBuf::from(share);
        assert!(text(&share).starts_with(r"\\"), "{share:?}");
        let on_share = share.join("Größe 1.dxf");
        fs::copy(RECTANGLE, &on_share).expect("copied");
        works(&on_share, &share.join("aus gabe"));
        fs::remove_file(on_share).expect("removed");
    } else {
        println!("SKIPPED: a share: KERFWRIGHT_SHARE names none");
    }
    // Every drawing of a pattern, which no shell of Windows takes apart.
    for pattern in ["*.dxf", r"Aufträge*\*.DXF"] {
        let mut command = kerfwright();
        let from = if pattern.contains('\\') {
            room.path()
        } else {
            &folder
        };
        let output = command
            .current_dir(from)
            .args(["quote", pattern])
            .args(ASKED)
            .output();
        let output = output.expect("it starts");
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        assert_eq!(Rows::read(&output.stdout).column("status"), ["planned"]);
    }
}

/// A drawing on another drive is named whole by the job file that `inspect` writes.
#[test]
fn a_job_file_names_a_drawing_on_another_drive() {
    let Some(drive) = std::env::var_os("KERFWRIGHT_DRIVE").map(PathBuf::from) else {
        println!("SKIPPED: another drive: KERFWRIGHT_DRIVE names none");
        return;
    };
    let room = tempfile::tempdir().expect("a folder");
    let drawing = drive.join("Größe 2.dxf");
    fs::copy(RECTANGLE, &drawing).expect("copied");
    let job = room.path().join("job.toml");
    let written = run(&["inspect", text(&drawing), "--write-job", text(&job)]);
    assert_eq!(written.status.code(), Some(0), "{}", stderr(&written));
    let planned = run(&[&["plan", text(&job)], &ASKED[..]].concat());
    assert_eq!(planned.status.code(), Some(0), "{}", stderr(&planned));
    let here = room.path().join("beside.dxf");
    fs::rename(&drawing, &here)
        .or_else(|_| fs::copy(&drawing, &here).map(drop))
        .expect("moved");
    let beside = room.path().join("beside.toml");
    let written = run(&["inspect", text(&here), "--write-job", text(&beside)]);
    assert_eq!(written.status.code(), Some(0), "{}", stderr(&written));
    let job = fs::read_to_string(&beside).expect("written");
    assert!(job.contains("drawing = \"beside.dxf\""), "{job}");
    let _ = fs::remove_file(drawing);
}
