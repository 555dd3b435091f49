//! The results kept in `out` are what the README's command makes now.
//!
//! `UPDATE=1 cargo test --test all demo` rewrites them.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::common::kerfwright;

const RUN: &str = "cargo run --release --locked -- ";

/// The arguments of the command in the README, up to the folder, and the folder.
fn readme_command() -> (Vec<String>, String) {
    let readme = fs::read_to_string("README.md").expect("the README is here");
    let commands: Vec<&str> = readme.lines().filter_map(|line| line.strip_prefix(RUN)).collect();
    let [command] = commands[..] else {
        panic!(
            "the README should hold one command that begins with `{RUN}`, not {}",
            commands.len()
        );
    };
    let (arguments, folder) = command
        .split_once(" --out ")
        .expect("the command writes into a folder");
    (
        arguments.split(' ').map(str::to_owned).collect(),
        folder.trim().to_owned(),
    )
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| entry.expect("a folder can be listed to its end"))
        .filter(|entry| entry.file_name() != ".kerfwright-results")
        .map(|entry| {
            let content = fs::read(entry.path()).expect("a result can be read");
            (entry.file_name().to_string_lossy().into_owned(), content)
        })
        .collect()
}

#[test]
fn the_readme_command_still_makes_what_is_kept() {
    let (arguments, folder) = readme_command();
    let kept = Path::new(&folder);
    let fresh = tempfile::tempdir().expect("a folder for the results");
    let into = if std::env::var_os("UPDATE").is_some() {
        kept
    } else {
        fresh.path()
    };
    let run = kerfwright()
        .args(&arguments)
        .arg("--out")
        .arg(into)
        .arg("--overwrite")
        .output()
        .expect("the command starts");
    let talk = String::from_utf8_lossy(&run.stderr);
    assert_eq!(
        run.status.code(),
        Some(0),
        "the demo should be free of errors: {talk}"
    );
    let (kept, made) = (files(kept), files(into));
    assert!(
        kept.keys()
            .any(|name| Path::new(name).extension().is_some_and(|kind| kind == "svg")),
        "no sheet is kept"
    );
    assert_eq!(kept.keys().collect::<Vec<_>>(), made.keys().collect::<Vec<_>>());
    for (name, content) in &kept {
        assert!(
            *content == made[name],
            "{folder}/{name} is not what the tool makes now: look at the difference, then `UPDATE=1 cargo test --test all demo`"
        );
    }
}

/// The answer and what is needed at the machine fit on a screen, the answer alone in twelve lines and the cautions.
#[test]
fn the_demo_is_told_in_sixty_lines_and_the_answer_in_twelve() {
    let (arguments, _) = readme_command();
    let lines = |more: Option<&str>| {
        let output = kerfwright()
            .args(&arguments)
            .args(more)
            .output()
            .expect("it runs");
        String::from_utf8(output.stdout).expect("text").lines().count()
    };
    let (usual, brief, full) = (lines(None), lines(Some("--brief")), lines(Some("--full")));
    assert!(usual <= 60, "{usual} lines");
    // A title, twelve lines, an empty one, and the cautions under their heading.
    assert!(brief <= 1 + 12 + 1 + 2, "{brief} lines");
    assert!(full > 2 * usual, "{full} lines");
}
