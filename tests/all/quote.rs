//! Many drawings into one table: every way to name them, rows that agree with a plan of each, a table that survives a kill,
//! and bad input that becomes a row.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::common::{RECTANGLE, feed, json, kerfwright, real_folder, stderr};

pub(crate) const ASKED: [&str; 6] = ["--thickness", "8", "--material", "tool-steel", "--finish", "N7"];

pub(crate) fn quote(arguments: &[&str]) -> Command {
    let mut command = kerfwright();
    command
        .arg("quote")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

fn run(arguments: &[&str]) -> Output {
    run_with_input(arguments, "")
}

fn run_with_input(arguments: &[&str], input: &str) -> Output {
    feed(&mut quote(arguments), input)
}

/// The rows of a table, each cell by its column.
pub(crate) struct Rows(csv::StringRecord, Vec<csv::StringRecord>);

impl Rows {
    pub(crate) fn read(bytes: &[u8]) -> Self {
        let mut reader = csv::Reader::from_reader(bytes);
        let names = reader.headers().expect("column names").clone();
        let rows = reader
            .records()
            .collect::<Result<_, _>>()
            .expect("rows of one length");
        Self(names, rows)
    }

    pub(crate) fn column(&self, name: &str) -> Vec<&str> {
        let at = self.0.iter().position(|column| column == name);
        let at = at.unwrap_or_else(|| panic!("no column {name}"));
        self.1.iter().map(|row| &row[at]).collect()
    }

    fn number(&self, name: &str, row: usize) -> f64 {
        let cell = self.column(name)[row];
        cell.parse().unwrap_or_else(|_| panic!("{name}: {cell}"))
    }
}

/// The rows that a command prints, in the order of the drawings.
fn printed(arguments: &[&str]) -> Rows {
    let output = run(&[arguments, &ASKED, &["--in-order"]].concat());
    assert_ne!(output.status.code(), Some(2), "{}", stderr(&output));
    Rows::read(&output.stdout)
}

/// A folder of `count` drawings with a rectangle of its own size each: `part-0.dxf` is 10 × 8 mm, the next is 1 mm longer.
pub(crate) fn rectangles(count: usize) -> tempfile::TempDir {
    let room = tempfile::tempdir().expect("a folder");
    for i in 0..count {
        let (x, y) = (10 + i, 8);
        let corners = [[0, 0], [x, 0], [x, y], [0, y]].map(|[x, y]| format!("10\n{x}\n20\n{y}\n"));
        let text = format!(
            "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n8\nCUT\n90\n4\n70\n1\n\
             {}0\nENDSEC\n0\nEOF\n",
            corners.concat()
        );
        fs::write(room.path().join(format!("part-{i}.dxf")), text).expect("written");
    }
    room
}

pub(crate) fn text(path: &Path) -> &str {
    path.to_str().expect("a path in UTF-8")
}

/// Perimeter in closed form; the rest is what `plan` says of the same drawing.
#[test]
fn a_row_says_what_the_plan_says() {
    let rows = printed(&[RECTANGLE]);
    let plan = json(&[&["plan", RECTANGLE], &ASKED[..]].concat());
    assert_eq!(rows.column("status"), ["planned"]);
    assert_eq!(rows.column("file"), [RECTANGLE]);
    assert_eq!(rows.number("perimeter_mm", 0), 120.0);
    let passes = plan["passes"].as_array().expect("passes");
    assert_eq!(rows.number("passes", 0), passes.len() as f64);
    let sum = |key: &str| {
        passes
            .iter()
            .map(|pass| pass[key].as_f64().expect("a number"))
            .sum::<f64>()
    };
    // Path of the rough cut by Steiner's formula: the wire runs round a convex part.
    let offset_mm = passes[0]["offset_mm"].as_f64().expect("an offset");
    let rough_mm2 = (120.0 + std::f64::consts::TAU * offset_mm) * 8.0;
    assert!((rows.number("cut_area_mm2", 0) - rough_mm2).abs() <= 0.005 + 1e-9);
    assert!((rows.number("pass_area_mm2", 0) - sum("cut_area_mm2")).abs() <= 0.005 + 1e-9);
    for (column, key, end) in [
        ("minutes_low", "machine_minutes", "low"),
        ("minutes", "machine_minutes", "expected"),
        ("minutes_high", "machine_minutes", "high"),
        ("cost_fixed", "cost_fixed", "expected"),
        ("cost_each_low", "cost_each", "low"),
        ("cost_each", "cost_each", "expected"),
        ("cost_each_high", "cost_each", "high"),
    ] {
        let right = plan["estimate"][key][end].as_f64().expect("a number");
        assert!(
            (rows.number(column, 0) - right).abs() <= 0.005 + 1e-9,
            "{column}: {right}"
        );
    }
    assert!(rows.column("confidence")[0].contains("built-in rates"));
    assert!(rows.column("assumptions")[0].contains("taken to be cut"));
}

#[test]
fn drawings_are_named_in_every_way() {
    let room = rectangles(3);
    let path = |name: &str| room.path().join(name);
    fs::create_dir(path("deeper")).expect("made");
    fs::rename(path("part-2.dxf"), path("deeper/part-2.DXF")).expect("moved");
    fs::write(path("note.txt"), "no drawing").expect("written");
    let of = |arguments: &[&str]| -> Vec<String> {
        let rows = printed(arguments);
        assert!(
            rows.column("status").iter().all(|status| *status == "planned"),
            "{arguments:?}"
        );
        rows.column("file").into_iter().map(str::to_owned).collect()
    };
    let names = |names: &[&str]| -> Vec<String> {
        // As the system parts the names of a path.
        let whole = |name: &&str| {
            name.split('/')
                .fold(room.path().to_owned(), |path, part| path.join(part))
        };
        names.iter().map(|name| text(&whole(name)).to_owned()).collect()
    };

    // A folder, whatever is below it and however the ending is written.
    let all = names(&["deeper/part-2.DXF", "part-0.dxf", "part-1.dxf"]);
    assert_eq!(of(&[text(room.path())]), all);
    // A pattern that the shell left alone.
    assert_eq!(
        of(&[text(&path("part-*.dxf"))]),
        names(&["part-0.dxf", "part-1.dxf"])
    );
    // A list on standard input.
    let list = names(&["part-1.dxf", "part-0.dxf"]).join("\n") + "\r\n\n";
    let output = run_with_input(&[&["-"], &ASKED[..], &["--in-order"]].concat(), &list);
    assert_eq!(
        Rows::read(&output.stdout).column("file"),
        names(&["part-1.dxf", "part-0.dxf"])
    );
    // A job file: what stands on the command line goes before it.
    fs::write(
        path("order.toml"),
        "drawing = \"part-1.dxf\"\nthickness_mm = 30\nquantity = 4\n",
    )
    .expect("written");
    let rows = printed(&[text(&path("order.toml"))]);
    assert_eq!(rows.column("file"), names(&["order.toml"]));
    assert_eq!(
        (rows.number("quantity", 0), rows.number("thickness_mm", 0)),
        (4.0, 8.0)
    );
    // A table of jobs, drawings beside it.
    let table = "file,thickness,material,tolerance,quantity\npart-0.dxf,12.7,tool-steel,±0.02,2\npart-1.dxf,20,carbide,,1\n";
    fs::write(path("orders.csv"), table).expect("written");
    let output = run(&[text(&path("orders.csv")), "--in-order"]);
    let rows = Rows::read(&output.stdout);
    assert_eq!(rows.column("file"), ["part-0.dxf", "part-1.dxf"]);
    assert_eq!(rows.column("thickness_mm"), ["12.7000", "20.0000"]);
    assert_eq!(rows.column("material"), ["tool-steel", "tungsten-carbide"]);
    assert_eq!(
        rows.column("status"),
        ["planned", "planned"],
        "{}",
        stderr(&output)
    );
}

#[test]
fn what_cannot_be_quoted_is_a_row_with_its_reason() {
    let room = rectangles(1);
    let path = |name: &str| room.path().join(name);
    fs::write(
        path("broken.dxf"),
        "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\nwide\n",
    )
    .expect("written");
    fs::write(path("empty.toml"), "thickness_mm = 8\n").expect("written");
    fs::write(path("orders.csv"), "file,passes\npart-0.dxf,many\n").expect("written");
    fs::create_dir(path("none")).expect("made");
    let arguments: Vec<PathBuf> = [
        "part-0.dxf",
        "broken.dxf",
        "gone.dxf",
        "empty.toml",
        "orders.csv",
        "none",
        "x*.dxf",
    ]
    .iter()
    .map(|name| path(name))
    .collect();
    let arguments: Vec<&str> = arguments.iter().map(|path| text(path)).collect();
    let output = run(&[&arguments[..], &ASKED, &["--in-order"]].concat());
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    let rows = Rows::read(&output.stdout);
    let reasons = rows.column("reason");
    for (row, words) in [
        "",
        "line 8",
        "cannot be read",
        "names no drawing",
        "passes `many`: ",
        "holds no drawing",
        "matches nothing",
    ]
    .iter()
    .enumerate()
    {
        assert!(reasons[row].contains(words), "{row}: {}", reasons[row]);
        assert_eq!(rows.column("status")[row] == "planned", row == 0, "{row}");
        assert_eq!(rows.column("minutes")[row].is_empty(), row > 0, "{row}");
    }
    assert!(
        stderr(&output).contains("1 planned, 0 where nothing reaches the requirement, 6 refused"),
        "{}",
        stderr(&output)
    );
    assert!(stderr(&output).contains("broken.dxf"), "{}", stderr(&output));

    // Too large for the machine: no price, but what can be read of it stands there.
    let rows = printed(&["fixtures/clock/front-plate.dxf"]);
    assert_eq!(rows.column("status"), ["refused"]);
    assert!(rows.column("reason")[0].contains("machine typical travels 600 mm"));
    assert!(rows.number("perimeter_mm", 0) > 0.0);
}

#[test]
fn what_refuses_every_drawing_is_said_once() {
    let room = rectangles(2);
    let folder = text(room.path());
    for (arguments, words) in [
        (vec![folder, "--thickness", "8"], "no material is given"),
        (vec![folder, "--material", "tool-steel"], "no thickness is given"),
        (
            vec![folder, "--thickness", "8", "--material", "tool-stel"],
            "tool-steel",
        ),
        (
            vec![
                folder,
                "--thickness",
                "8",
                "--material",
                "tool-steel",
                "--finish",
                "Rz 4",
            ],
            "finish",
        ),
        (vec!["-"], "no drawing is named"),
        (
            vec![
                folder,
                "--workers",
                "0",
                "--thickness",
                "8",
                "--material",
                "tool-steel",
            ],
            "0 workers",
        ),
        (
            vec![
                folder,
                "--out",
                "t.xlsx",
                "--thickness",
                "8",
                "--material",
                "tool-steel",
            ],
            ".csv or .jsonl",
        ),
        (
            vec![
                folder,
                "--out",
                "/dev/full.csv/x.csv",
                "--thickness",
                "8",
                "--material",
                "tool-steel",
            ],
            "cannot be written",
        ),
    ] {
        let output = run(&arguments);
        assert_eq!(
            output.status.code(),
            Some(2),
            "{arguments:?}: {}",
            stderr(&output)
        );
        assert!(
            output.stdout.is_empty() && stderr(&output).contains(words),
            "{arguments:?}: {}",
            stderr(&output)
        );
    }
}

pub(crate) fn with(arguments: &[&str], out: &Path) -> Output {
    run(&[arguments, &ASKED, &["--out", text(out)]].concat())
}

fn lines(table: &Path) -> Vec<String> {
    let text = fs::read_to_string(table).expect("a table");
    text.lines().map(str::to_owned).collect()
}

/// Killed when some rows stand there; then run again until it ends by itself.
#[test]
fn a_killed_run_goes_on_to_the_same_table() {
    const DRAWINGS: usize = 60;
    let room = rectangles(DRAWINGS);
    let results = tempfile::tempdir().expect("a folder");
    for format in ["csv", "jsonl"] {
        let whole = results.path().join(format!("whole.{format}"));
        assert_eq!(
            with(&[text(room.path()), "--in-order"], &whole).status.code(),
            Some(0)
        );
        let cut = results.path().join(format!("cut.{format}"));
        let arguments = [
            &[text(room.path()), "--workers", "1", "--in-order"],
            &ASKED[..],
            &["--out", text(&cut)],
        ]
        .concat();
        let mut child = quote(&arguments).spawn().expect("it starts");
        let rows = kill_after_rows(&mut child, &cut, 5);
        assert!(
            (5..DRAWINGS).contains(&rows),
            "{rows} rows stood there when it was killed"
        );
        // As if the kill had come in the middle of a row.
        let mut file = fs::OpenOptions::new().append(true).open(&cut).expect("there");
        file.write_all(b"part-59.dxf,plan").expect("written");
        drop(file);
        let output = run(&arguments);
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        assert_eq!(
            fs::read(&cut).expect("a table"),
            fs::read(&whole).expect("a table"),
            "{format}"
        );
        assert!(
            stderr(&output).contains("rows stood in the table already"),
            "{}",
            stderr(&output)
        );
        // Once more: nothing is left to do, and the bytes stay.
        let output = run(&arguments);
        assert!(stderr(&output).contains(&format!("{DRAWINGS} rows stood in the table already")));
        assert_eq!(
            fs::read(&cut).expect("a table"),
            fs::read(&whole).expect("a table")
        );
    }
}

/// Kills the command when `rows` rows stand in the table; gives how many stand there then.
fn kill_after_rows(child: &mut Child, table: &Path, rows: usize) -> usize {
    let whole = || fs::read_to_string(table).map_or(0, |text| text.matches('\n').count());
    let began = Instant::now();
    while whole() <= rows {
        assert!(began.elapsed() < Duration::from_secs(60), "no rows come");
        sleep(Duration::from_millis(1));
    }
    child.kill().expect("killed");
    child.wait().expect("it ends");
    whole() - 1
}

#[test]
fn only_rows_that_still_hold_are_kept() {
    let room = rectangles(4);
    let results = tempfile::tempdir().expect("a folder");
    let table = results.path().join("quote.csv");
    let folder = text(room.path());
    assert_eq!(with(&[folder], &table).status.code(), Some(0));
    let before: BTreeSet<String> = lines(&table).into_iter().collect();
    // One drawing changes, one goes, one comes.
    fs::copy(room.path().join("part-3.dxf"), room.path().join("part-1.dxf")).expect("changed");
    fs::rename(room.path().join("part-2.dxf"), room.path().join("part-9.dxf")).expect("renamed");
    let output = with(&[folder, "--only"], &table);
    let said = stderr(&output);
    assert!(
        said.contains("2 rows stood in the table already") && said.contains("2 rows taken out"),
        "{said}"
    );
    let after: BTreeSet<String> = lines(&table).into_iter().collect();
    assert_eq!((after.len(), after.intersection(&before).count()), (5, 3));
    // Another thickness: none holds.
    let output = run(&[
        folder,
        "--thickness",
        "9",
        "--material",
        "tool-steel",
        "--out",
        text(&table),
    ]);
    assert!(
        stderr(&output).contains("4 rows taken out"),
        "{}",
        stderr(&output)
    );
    assert!(
        Rows::read(&fs::read(&table).expect("a table"))
            .column("thickness_mm")
            .iter()
            .all(|mm| *mm == "9.0000")
    );
}

#[test]
fn a_file_that_is_no_table_is_left_alone() {
    let room = rectangles(1);
    let drawing = room.path().join("part-0.dxf");
    let other = room.path().join("costs.csv");
    fs::write(&other, "file,thickness\npart-0.dxf,8\n").expect("written");
    for (out, words) in [
        (&other, "line 1"),
        (&room.path().join("folder.csv"), "is no file"),
    ] {
        if words == "is no file" {
            fs::create_dir(out).expect("made");
        }
        let output = with(&[text(&drawing)], out);
        assert_eq!(output.status.code(), Some(2));
        assert!(stderr(&output).contains(words), "{}", stderr(&output));
    }
    assert_eq!(
        fs::read_to_string(&other).expect("there"),
        "file,thickness\npart-0.dxf,8\n"
    );
}

#[test]
fn the_number_of_workers_changes_no_byte() {
    let room = rectangles(20);
    let of = |workers: &str, json: &[&str]| {
        let output = run(&[
            &[text(room.path()), "--in-order", "--workers", workers],
            json,
            &ASKED,
        ]
        .concat());
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        output.stdout
    };
    assert!(of("1", &[]) == of("4", &[]));
    let json = of("1", &["--json"]);
    assert!(json == of("4", &["--json"]));
    let rows: Vec<Value> = String::from_utf8(json)
        .expect("text")
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    assert_eq!(rows.len(), 20);
    assert!(
        rows.iter()
            .all(|row| row["schema"] == 1 && row["status"] == "planned")
    );
    // The perimeter of each, in closed form.
    let perimeters: BTreeSet<i64> = rows
        .iter()
        .map(|row| row["perimeter_mm"].as_f64().expect("mm").round() as i64)
        .collect();
    assert_eq!(perimeters, (0..20).map(|i| 2 * (10 + i + 8)).collect());
}

#[test]
fn a_reader_that_goes_away_early_is_no_failure() {
    let room = rectangles(40);
    let mut child = quote(&[&[text(room.path())], &ASKED[..]].concat())
        .spawn()
        .expect("it starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!(output.stderr.is_empty(), "{}", stderr(&output));
}

/// Every real drawing has its row, whatever is wrong with it.
#[test]
fn real_drawings_have_a_row_each() {
    let Some(folder) = real_folder() else { return };
    let drawings = fs::read_dir(&folder).expect("a folder").count();
    let rows = printed(&[text(&folder)]);
    let files: BTreeSet<&str> = rows.column("file").into_iter().collect();
    assert_eq!((files.len(), rows.1.len()), (drawings, drawings));
    for (status, reason) in rows.column("status").iter().zip(rows.column("reason")) {
        assert_eq!(*status == "planned", reason.is_empty(), "{status}: {reason}");
        assert!(!reason.contains("fault"), "{reason}");
    }
}

/// The table with a cell more in each line, such as a version to come may write, or one less.
fn with_columns(table: &str, change: impl Fn(&mut Vec<String>, usize)) -> String {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(table.as_bytes());
    for (line, record) in reader.records().enumerate() {
        let mut cells: Vec<String> = record.expect("a row").iter().map(str::to_owned).collect();
        change(&mut cells, line);
        writer.write_record(&cells).expect("into memory");
    }
    String::from_utf8(writer.into_inner().expect("memory")).expect("text")
}

#[test]
fn a_table_of_another_version_is_read_by_the_names_of_its_columns() {
    let room = rectangles(3);
    let results = tempfile::tempdir().expect("a folder");
    let table = results.path().join("quote.csv");
    let arguments = [text(room.path()), "--in-order"];
    assert_eq!(with(&arguments, &table).status.code(), Some(0));
    let whole = fs::read_to_string(&table).expect("a table");
    let more = with_columns(&whole, |cells, line| {
        cells.insert(3, if line == 0 { "order_hours" } else { "1.25" }.to_owned());
    });
    let turned = with_columns(&whole, |cells, _| cells.reverse());
    let fewer = with_columns(&whole, |cells, _| {
        cells.remove(9);
    });
    for (old, kept) in [(more, 3), (turned, 3), (fewer, 0)] {
        fs::write(&table, &old).expect("written");
        // A run that is told to keep the order writes the table anew in any case.
        for arguments in [&arguments[..1], &arguments] {
            let output = with(arguments, &table);
            let said = stderr(&output);
            assert_eq!(output.status.code(), Some(0), "{said}");
            let now = if arguments.len() == 1 { kept } else { 3 };
            assert_eq!(
                said.contains(&format!("{now} rows stood in the table already")),
                now > 0,
                "{said}"
            );
        }
        assert_eq!(fs::read_to_string(&table).expect("a table"), whole);
    }
}

#[test]
fn a_table_in_json_is_read_by_the_names_of_its_fields() {
    let room = rectangles(2);
    let results = tempfile::tempdir().expect("a folder");
    let table = results.path().join("quote.jsonl");
    let folder = text(room.path());
    assert_eq!(with(&[folder, "--in-order"], &table).status.code(), Some(0));
    let whole = fs::read_to_string(&table).expect("a table");
    let more = whole.replace("\"status\":", "\"order_hours\":1.25,\"status\":");
    // Without its value a field would read as one that is not known.
    let fewer = whole.replace("\"thickness_mm\":8.0,", "");
    assert!(more != whole && fewer != whole, "{whole}");
    for (old, words) in [
        (more, "2 rows stood in the table already"),
        (fewer, "2 rows taken out"),
    ] {
        fs::write(&table, old).expect("written");
        let output = with(&[folder], &table);
        assert!(stderr(&output).contains(words), "{}", stderr(&output));
        let sorted = |text: &str| text.lines().map(str::to_owned).collect::<BTreeSet<_>>();
        let now = fs::read_to_string(&table).expect("a table");
        assert_eq!(sorted(&now), sorted(&whole));
    }
}
