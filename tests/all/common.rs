//! What the tests share: where the drawings lie, the built-in book, how the command is run and its JSON read.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

use kerfwright::job::{JobFile, JobPart, Purpose, Purposes};
use kerfwright::shop::Book;
use serde_json::Value;

pub(crate) const RECTANGLE: &str = "fixtures/shapes/rectangle-40x20.dxf";
pub(crate) const RATCHET: &str = "fixtures/clock/ratchet.dxf";
pub(crate) const LOG: &str = "fixtures/shop/finished-jobs.csv";

/// The folder of the package.
pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A file or folder of `fixtures`.
pub(crate) fn fixture(name: impl AsRef<Path>) -> PathBuf {
    root().join("fixtures").join(name)
}

/// What a file of `fixtures` holds.
pub(crate) fn fixture_bytes(name: impl AsRef<Path>) -> Vec<u8> {
    let path = fixture(name);
    fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The drawings of a folder, by name.
pub(crate) fn drawings_in(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut drawings: Vec<PathBuf> = entries
        .map(|entry| entry.expect("a folder can be listed to its end").path())
        .filter(|path| {
            path.extension()
                .is_some_and(|kind| kind.eq_ignore_ascii_case("dxf"))
        })
        .collect();
    drawings.sort();
    drawings
}

/// The folder of drawings that others made, where `KERFWRIGHT_REAL_DRAWINGS` names it; a test that gets none has not run.
pub(crate) fn real_folder() -> Option<PathBuf> {
    let folder = std::env::var_os("KERFWRIGHT_REAL_DRAWINGS").map(PathBuf::from);
    if folder.is_none() {
        eprintln!("SKIPPED: KERFWRIGHT_REAL_DRAWINGS is not set, so no real drawing was read");
    }
    folder
}

/// The drawings in that folder.
pub(crate) fn real_drawings() -> Option<Vec<PathBuf>> {
    let folder = real_folder()?;
    let drawings = drawings_in(&folder);
    assert!(!drawings.is_empty(), "{}: no drawings", folder.display());
    Some(drawings)
}

/// Names of all that is in a folder, in their order.
pub(crate) fn names_in(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut names: Vec<String> = entries
        .map(|entry| file_name(&entry.expect("a folder can be listed to its end").path()))
        .collect();
    names.sort();
    names
}

/// Returns what is written on a picture, its lines as one.
pub(crate) fn words_of_picture(svg: &str) -> String {
    let document = roxmltree::Document::parse(svg).expect("well-formed XML");
    let texts = document.descendants().filter(|node| node.has_tag_name("text"));
    let lines = texts.filter_map(|node| node.text());
    lines.map(str::trim).collect::<Vec<_>>().join(" ")
}

/// Name of a file without its folder.
pub(crate) fn file_name(path: &Path) -> String {
    path.file_name().expect("a file").to_string_lossy().into_owned()
}

/// The book without one of the shop's own.
pub(crate) fn book() -> &'static Book {
    static BOOK: OnceLock<Book> = OnceLock::new();
    BOOK.get_or_init(|| Book::built_in().expect("the built-in book is sound"))
}

/// The job that gives these purposes and nothing else.
pub(crate) fn job_of(uses: &Purposes) -> JobFile {
    let part = |purpose: &Purpose| JobPart::new().purpose(*purpose);
    let mut job = JobFile::default()
        .assume_sides(uses.assume_sides)
        .cut_layers(&uses.cut_layers);
    job.start_holes_under_mm = uses.start_holes_under_mm;
    for (name, purpose) in &uses.layers {
        job = job.layer(name, part(purpose));
    }
    for (id, purpose) in &uses.contours {
        let mut part = part(purpose);
        part.keep = uses.keeps.get(id).map(|at| [at.x, at.y]);
        job = job.contour(id.number(), part);
    }
    for (name, purpose) in &uses.linetypes {
        job = job.linetype(name, *purpose);
    }
    for (number, purpose) in &uses.colors {
        job = job.color(*number, *purpose);
    }
    job
}

/// The command, in the folder of the package.
pub(crate) fn kerfwright() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_kerfwright"));
    command
        .current_dir(root())
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE");
    command
}

pub(crate) fn run(arguments: &[&str]) -> Output {
    kerfwright().args(arguments).output().expect("the command starts")
}

pub(crate) fn run_with_input(arguments: &[&str], input: impl AsRef<[u8]>) -> Output {
    let mut command = kerfwright();
    command.args(arguments);
    feed(&mut command, input)
}

/// Runs a command to its end, with `input` on its standard input.
pub(crate) fn feed(command: &mut Command, input: impl AsRef<[u8]>) -> Output {
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    stdin.write_all(input.as_ref()).expect("it reads all");
    drop(stdin);
    child.wait_with_output().expect("it ends")
}

pub(crate) fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("text")
}

pub(crate) fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("text")
}

/// What a command prints with `--json`.
pub(crate) fn json(arguments: &[&str]) -> Value {
    let output = run(&[arguments, &["--json"]].concat());
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {}", stderr(&output)))
}

pub(crate) fn rows<'a>(value: &'a Value, key: &str) -> &'a Vec<Value> {
    value[key].as_array().unwrap_or_else(|| panic!("no list `{key}`"))
}

pub(crate) fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

/// Asserts that `got` is `expected`, give or take `slack`.
pub(crate) fn assert_close(what: &str, got: f64, expected: f64, slack: f64) {
    assert!(
        (got - expected).abs() <= slack,
        "{what}: {got} instead of {expected}, off by {:e}, more than {slack:e}",
        got - expected
    );
}
