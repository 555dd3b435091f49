//! Tables and folders of results under load: several runs at once, links, pipes, devices, signals and files without an end.

use std::fs::{self, File};
use std::path::Path;
use std::time::{Duration, Instant, SystemTime};

use crate::common::{names_in, run, stderr, stdout};
use crate::quote::{ASKED, Rows, rectangles, text, with};

#[cfg(unix)]
mod unix;

fn files_of(table: &Path) -> Vec<String> {
    let mut files: Vec<String> = Rows::read(&fs::read(table).expect("a table"))
        .column("file")
        .into_iter()
        .map(str::to_owned)
        .collect();
    files.sort();
    files
}

#[test]
fn rows_of_other_drawings_stay_and_are_counted_apart() {
    let room = rectangles(3);
    let results = tempfile::tempdir().expect("a folder");
    let parts = [0, 1, 2].map(|i| room.path().join(format!("part-{i}.dxf")));
    let [zero, one, two] = [0, 1, 2].map(|i| text(&parts[i]));
    for format in ["csv", "jsonl"] {
        let table = results.path().join(format!("quote.{format}"));
        assert_eq!(with(&[zero, one], &table).status.code(), Some(0));
        let before = fs::read_to_string(&table).expect("a table");
        let output = with(&[two], &table);
        let said = stderr(&output);
        assert!(
            said.contains("1 drawings in") && said.contains("2 rows of drawings not named this time stay"),
            "{said}"
        );
        assert!(said.contains("1 planned"), "they are not summed: {said}");
        assert!(!said.contains("taken out,"), "{said}");
        let after = fs::read_to_string(&table).expect("a table");
        assert!(after.starts_with(&before) && after.lines().count() == before.lines().count() + 1);
        // In order: rows of others at the end, as they stood.
        assert_eq!(with(&[two, one, "--in-order"], &table).status.code(), Some(0));
        let lines = fs::read_to_string(&table).expect("a table");
        let order: Vec<usize> = ["part-2", "part-1", "part-0"]
            .map(|part| lines.find(part).expect("its row"))
            .to_vec();
        assert!(order.is_sorted(), "{lines}");
        // A changed drawing replaces its own row alone.
        fs::copy(&parts[1], &parts[0]).expect("changed");
        let said = stderr(&with(&[zero], &table));
        assert!(
            said.contains("1 rows taken out; 2 rows of drawings not named"),
            "{said}"
        );
        let said = stderr(&with(&[one, "--only"], &table));
        assert!(
            said.contains("1 rows stood in the table already; 2 rows taken out"),
            "{said}"
        );
        assert_eq!(
            fs::read_to_string(&table)
                .expect("a table")
                .matches("part-")
                .count(),
            1
        );
        fs::copy(&parts[2], &parts[0]).expect("changed back to another");
    }
    assert_eq!(
        names_in(results.path()),
        ["quote.csv", "quote.jsonl"],
        "no lock is left"
    );
}

/// Started together, each with a drawing of its own, again and again until its row was taken.
#[test]
fn two_runs_into_one_table_lose_no_row() {
    const RUNS: usize = 6;
    let room = rectangles(RUNS);
    let results = tempfile::tempdir().expect("a folder");
    let table = results.path().join("quote.csv");
    std::thread::scope(|scope| {
        for i in 0..RUNS {
            let (drawing, table) = (room.path().join(format!("part-{i}.dxf")), &table);
            scope.spawn(move || {
                let began = Instant::now();
                loop {
                    let output = with(&[text(&drawing), "--in-order"], table);
                    match output.status.code() {
                        Some(0) => break,
                        Some(2) if stderr(&output).contains("another run is writing this table") => {}
                        _ => panic!("{}", stderr(&output)),
                    }
                    assert!(began.elapsed() < Duration::from_secs(60), "its turn never comes");
                }
            });
        }
    });
    assert_eq!(files_of(&table).len(), RUNS);
    assert_eq!(names_in(results.path()), ["quote.csv"]);
}

#[test]
fn no_result_of_another_drawing_is_written_over() {
    let room = tempfile::tempdir().expect("a folder");
    let path = |name: &str| room.path().join(name);
    for (folder, part) in [("a", "part-0.dxf"), ("b", "part-1.dxf")] {
        fs::create_dir(path(folder)).expect("made");
        fs::copy(rectangles(2).path().join(part), path(folder).join("part.dxf")).expect("copied");
    }
    let (a, b, out) = (path("a/part.dxf"), path("b/part.dxf"), path("out"));
    let plan = |drawing: &Path, more: &[&str]| {
        let asked = ["--formats", "svg,json", "--wire", "0.25"];
        run(&[
            &["plan", text(drawing), "--out", text(&out)],
            &asked,
            &ASKED[..4],
            more,
        ]
        .concat())
    };
    let sheet = || fs::read(out.join("part.svg")).expect("a sheet");
    assert_eq!(plan(&a, &[]).status.code(), Some(0));
    let first = sheet();
    // The same drawing, whatever is asked of it, and changed.
    assert_eq!(plan(&a, &["--passes", "1"]).status.code(), Some(0));
    assert!(sheet() != first);
    let kept = sheet();
    let listed = names_in(&out);
    for command in ["plan", "inspect"] {
        let asked: &[&str] = if command == "plan" { &ASKED } else { &[] };
        let refused = run(&[&[command, text(&b), "--out", text(&out)], asked].concat());
        assert_eq!(refused.status.code(), Some(2));
        let said = stderr(&refused);
        assert!(
            said.contains("part.svg: is there already") && said.contains("--overwrite"),
            "{said}"
        );
        assert!(stdout(&refused).is_empty());
    }
    assert!(sheet() == kept && names_in(&out) == listed);
    assert_eq!(plan(&b, &["--overwrite"]).status.code(), Some(0));
    assert!(sheet() != kept);
    // Now they are those of the other one.
    assert_eq!(plan(&b, &[]).status.code(), Some(0));
    assert_eq!(plan(&a, &[]).status.code(), Some(2));
    // What is not known stays, unless it would be the same.
    fs::remove_file(out.join(".kerfwright-results")).expect("removed");
    assert_eq!(plan(&b, &[]).status.code(), Some(0));
    fs::remove_file(out.join(".kerfwright-results")).expect("removed");
    fs::write(out.join("part.json"), "mine").expect("written");
    assert_eq!(plan(&b, &[]).status.code(), Some(2));
    assert_eq!(fs::read(out.join("part.json")).expect("there"), b"mine");
}

#[test]
fn what_a_killed_run_left_goes_with_the_next() {
    let room = rectangles(1);
    let out = tempfile::tempdir().expect("a folder");
    let hour = Duration::from_secs(3600);
    let make = |name: &str, age: Duration| {
        let file = File::create(out.path().join(name)).expect("made");
        file.set_modified(SystemTime::now() - age).expect("dated");
        file
    };
    drop(make(".kerfwright-dead01.tmp", hour));
    drop(make(".kerfwright-young1.tmp", Duration::ZERO));
    drop(make(".other-dead01.tmp", hour));
    let busy = make(".kerfwright-busy01.tmp", hour);
    busy.lock().expect("locked");
    // A lock whose run was killed hinders nobody.
    drop(make(".quote.csv.lock", hour));
    let output = with(&[text(room.path()), "--in-order"], &out.path().join("quote.csv"));
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert_eq!(
        names_in(out.path()),
        [
            ".kerfwright-busy01.tmp",
            ".kerfwright-young1.tmp",
            ".other-dead01.tmp",
            "quote.csv"
        ]
    );
}
