//! What the README, the manual and the guide say is what the tool does: every command line in their code blocks runs, every entry of
//! the book that the guide names has the value that stands beside it, and every figure of its examples is that of the run.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Output;

use serde_json::Value;
use tempfile::TempDir;

use crate::common::kerfwright;

const GUIDE: &str = include_str!("../../docs/guide.md");
const MANUAL: &str = include_str!("../../docs/manual.md");
const README: &str = include_str!("../../README.md");

/// Not run, with the reason. Each has to stand in one of the pages.
const NOT_RUN: [(&str, &str); 1] = [("serve", "it serves a page until somebody stops it")];

/// How a command line of the pages begins, with what comes before the arguments.
const BEGINNINGS: [&str; 2] = ["kerfwright ", "cargo run --release --locked -- "];

/// A piece of a page, in its order.
enum Part<'a> {
    /// A code block: its language and its lines.
    Code(&'a str, Vec<&'a str>),
    /// The cells of a row of a table; the row of dashes is left out.
    Row(Vec<&'a str>),
    /// Anything else.
    Text,
}

fn parts(page: &str) -> Vec<Part<'_>> {
    let mut list = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        if let Some(language) = line.strip_prefix("```") {
            let block = lines.by_ref().take_while(|line| !line.starts_with("```"));
            list.push(Part::Code(language, block.collect()));
        } else if let Some(code) = line.strip_prefix("    ") {
            list.push(Part::Code("", vec![code]));
        } else if let Some(row) = line.strip_prefix('|') {
            let cells: Vec<&str> = row
                .trim_end()
                .trim_end_matches('|')
                .split('|')
                .map(str::trim)
                .collect();
            if !cells.iter().all(|cell| cell.trim_matches(['-', ':']).is_empty()) {
                list.push(Part::Row(cells));
            }
        } else {
            list.push(Part::Text);
        }
    }
    list
}

/// The arguments of each command line in a code block.
fn commands<'a>(block: &[&'a str]) -> Vec<&'a str> {
    let arguments = |line: &&'a str| BEGINNINGS.iter().find_map(|begins| line.strip_prefix(begins));
    block.iter().filter_map(arguments).collect()
}

/// A folder in which the pages' command lines find what they name: the fixtures, and a drawing, a folder of drawings, a
/// table and a log under the names that stand for those of the reader.
fn workshop() -> TempDir {
    let room = tempfile::tempdir().expect("a folder");
    let into = |name: &str| room.path().join(name);
    for folder in ["fixtures/clock", "fixtures/shop", "fixtures/shapes"] {
        copy(Path::new(folder), &into(folder));
    }
    let named = [
        ("fixtures/clock/hand-punch.dxf", "part.dxf"),
        ("fixtures/shapes/keyhole.dxf", "parts/keyhole.dxf"),
        ("fixtures/shop/ratchet.toml", "parts/job.toml"),
        ("fixtures/clock/ratchet.dxf", "clock/ratchet.dxf"),
    ];
    for (from, to) in named {
        let to = into(to);
        fs::create_dir_all(to.parent().expect("a folder")).expect("a folder");
        fs::copy(from, to).expect("a fixture can be copied");
    }
    let job = "drawing = \"part.dxf\"\nmaterial = \"tool-steel\"\nthickness_mm = 20\n";
    fs::write(into("job.toml"), job).expect("a job");
    fs::write(into("orders.csv"), "file,quantity\npart.dxf,3\n").expect("a table");
    let log = fs::read("fixtures/shop/finished-jobs.csv").expect("the log");
    fs::write(into("log.csv"), log).expect("a log");
    room
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("the fixtures") {
        let entry = entry.expect("a fixture");
        fs::copy(entry.path(), to.join(entry.file_name())).expect("a fixture can be copied");
    }
}

fn run(room: &Path, arguments: &str) -> Output {
    kerfwright()
        .args(words(arguments))
        .current_dir(room)
        .output()
        .expect("the command starts")
}

/// As a shell splits it: blanks, and double quotes that hold blanks together.
fn words(arguments: &str) -> Vec<String> {
    let mut list = vec![String::new()];
    let mut quoted = false;
    for c in arguments.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => list.push(String::new()),
            c => list.last_mut().expect("at least one").push(c),
        }
    }
    list.retain(|word| !word.is_empty());
    list
}

/// Runs a command line, which has to end well: without error, or with an error found in the drawing.
fn run_well(room: &Path, arguments: &str) -> Output {
    let output = run(room, arguments);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    let ended = matches!(output.status.code(), Some(0 | 1));
    let refused = told.lines().any(|line| line.starts_with("error:"));
    assert!(
        ended && !refused,
        "`kerfwright {arguments}` ends with {:?}: {told}",
        output.status.code()
    );
    output
}

/// Runs the command lines of a page one after the other, as a reader would, and gives the JSON of those that print it to
/// `rows` with each row of a table that follows. What stands between as TOML or CSV is what the reader has written down.
fn follow(page: &str, mut row: impl FnMut(&[&str], Option<&Value>)) -> usize {
    let room = workshop();
    let (mut ran, mut printed) = (0, None);
    for part in parts(page) {
        match part {
            Part::Code("toml", lines) => {
                fs::write(room.path().join("shop.toml"), lines.join("\n")).expect("a book");
            }
            Part::Code("csv", lines) => {
                // What was read off a test piece names an item in each row; else it is a log of jobs.
                let is_readings = lines[0].starts_with("item,");
                let file = if is_readings { "readings.csv" } else { "log.csv" };
                fs::write(room.path().join(file), lines.join("\n")).expect("a table");
            }
            Part::Code(_, lines) => {
                for arguments in commands(&lines) {
                    if NOT_RUN.iter().any(|(name, _)| arguments.starts_with(name)) {
                        continue;
                    }
                    let output = run_well(room.path(), arguments);
                    if arguments.split(' ').any(|word| word == "--json") {
                        printed = Some(serde_json::from_slice(&output.stdout).expect("JSON"));
                    }
                    ran += 1;
                }
            }
            Part::Row(cells) => row(&cells, printed.as_ref()),
            Part::Text => {}
        }
    }
    ran
}

#[test]
fn every_command_line_of_the_readme_and_the_manual_runs() {
    for (page, least) in [(README, 4), (MANUAL, 3)] {
        let ran = follow(page, |_, _| {});
        assert!(ran >= least, "{ran} command lines");
    }
}

#[test]
fn what_is_not_run_is_named_in_a_page() {
    for (name, reason) in NOT_RUN {
        let lines = [README, MANUAL, GUIDE]
            .map(parts)
            .into_iter()
            .flatten()
            .filter_map(|part| match part {
                Part::Code(_, lines) => Some(lines),
                Part::Row(_) | Part::Text => None,
            });
        let named = lines
            .flat_map(|lines| commands(&lines))
            .any(|arguments| arguments.starts_with(name));
        assert!(
            named,
            "`{name}` stands in no page, so that its reason can go: {reason}"
        );
    }
}

/// The figure in a cell, and half a unit of its last place.
fn figure(cell: &str) -> Option<(f64, f64)> {
    let number: f64 = cell.parse().ok()?;
    let places = cell.split_once('.').map_or(0, |(_, places)| places.len());
    Some((number, 0.5 * 10.0_f64.powi(-i32::try_from(places).ok()?)))
}

/// The name between backticks, where a cell holds nothing else.
fn name(cell: &str) -> Option<&str> {
    cell.strip_prefix('`')?
        .strip_suffix('`')
        .filter(|name| !name.contains('`'))
}

/// The last cell of such a row is the place in the JSON, the one before what the tool prints, and what is reckoned by hand
/// (closed forms and textbook formulas, written out in the row) stands before that.
#[test]
fn the_examples_of_the_guide_are_what_the_tool_prints() {
    let (mut compared, mut reckoned) = (0, 0);
    let ran = follow(GUIDE, |cells, printed| {
        let [.., by_hand, tool, place] = cells else { return };
        let Some(place) = name(place).filter(|place| place.starts_with('/')) else {
            return;
        };
        let printed = printed.expect("a command line that prints JSON stands above");
        let value = printed.pointer(place).and_then(Value::as_f64);
        let value = value.unwrap_or_else(|| panic!("{place} is no number"));
        let (tool, half) = figure(tool).unwrap_or_else(|| panic!("{cells:?}"));
        let rounding = 1e-9 * tool.abs();
        assert!(
            (value - tool).abs() <= half + rounding,
            "{}: the tool says {value}",
            cells[0]
        );
        compared += 1;
        if let Some((by_hand, half)) = figure(by_hand) {
            assert!(
                (value - by_hand).abs() <= half + rounding,
                "{}: by hand {by_hand}, {value}",
                cells[0]
            );
            reckoned += 1;
        }
    });
    assert!(
        ran >= 6 && compared >= 35 && reckoned >= 30,
        "{ran} {compared} {reckoned}"
    );
}

/// Rows that begin with an entry of the book: its value, or the values of the keys that head the table.
#[test]
fn the_numbers_of_the_guide_are_those_of_the_book() {
    let shown = run_well(Path::new("."), "book show --json");
    let shown: Value = serde_json::from_slice(&shown.stdout).expect("JSON");
    let numbers = shown["numbers"].as_array().expect("numbers");
    let of_entry =
        |number: &Value| Some((number["entry"].as_str()?.to_owned(), number["expected"].as_f64()?));
    let book: BTreeMap<String, f64> = numbers.iter().filter_map(of_entry).collect();
    let (mut compared, mut keys) = (0, Vec::new());
    let mut hold = |entry: &str, cell: &str| {
        let value = book
            .get(entry)
            .unwrap_or_else(|| panic!("{entry} is not in the book"));
        let (number, _) = figure(cell).unwrap_or_else(|| panic!("{entry}: `{cell}` is no number"));
        assert!(
            (number - value).abs() <= 1e-12,
            "{entry}: the book says {value}, the guide {number}"
        );
        compared += 1;
    };
    for part in parts(GUIDE) {
        let Part::Row(cells) = part else { continue };
        if cells[0] == "entry" {
            keys = cells[1..].iter().map(|cell| name(cell)).collect();
            continue;
        }
        let Some(entry) = name(cells[0]).filter(|entry| entry.contains(['.'])) else {
            continue;
        };
        for (cell, key) in cells[1..].iter().zip(&keys) {
            match key {
                Some(key) if *cell != "–" => hold(&format!("{entry}.{key}"), cell),
                _ => {}
            }
        }
        if keys.iter().all(Option::is_none) {
            hold(entry, cells[1]);
        }
    }
    assert!(compared >= 80, "{compared} numbers");
}

#[test]
fn as_many_steps_of_the_built_in_table_are_doubtful_as_the_guide_says() {
    let checked = run_well(Path::new("."), "book check");
    let told = String::from_utf8(checked.stdout).expect("text");
    assert_eq!(
        told.lines()
            .filter(|line| line.starts_with("doubtful: pass-table"))
            .count(),
        7
    );
    assert!(GUIDE.contains("seven steps of the built-in table are doubtful"));
}

/// `tests/all/cli.rs` runs the examples of the commands that it names; here it is all that there are.
#[test]
fn the_help_of_every_command_has_an_example_that_runs() {
    let text = |output: Output| String::from_utf8(output.stdout).expect("text");
    let help = text(run_well(Path::new("."), "--help"));
    let (_, listed) = help.split_once("Commands:\n").expect("commands");
    let names = listed
        .lines()
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.strip_prefix("  ")?.split(' ').next());
    let names: Vec<&str> = names.filter(|name| !["", "help"].contains(name)).collect();
    assert!(names.len() >= 11, "{names:?}");
    let room = workshop();
    for name in names {
        let help = text(run_well(room.path(), &format!("{name} --help")));
        let (_, example) = help
            .split_once("Example: kerfwright ")
            .unwrap_or_else(|| panic!("{name} has no example"));
        let example: Vec<&str> = example.split_whitespace().collect();
        if NOT_RUN.iter().all(|(not_run, _)| *not_run != name) {
            run_well(room.path(), &example.join(" "));
        }
    }
}
