//! Same input, same bytes: run after run, on one thread or more, and from the build for tests or for release.
//!
//! The release build is compared when `KERFWRIGHT_RELEASE` names it, as `tests/long` does.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::common::{drawings_in, fixture};

fn drawings() -> Vec<PathBuf> {
    let folders = ["clock", "shapes"].into_iter();
    let drawings: Vec<PathBuf> = folders
        .flat_map(|folder| drawings_in(&fixture(folder)))
        // Larger than the travel of the built-in machine.
        .filter(|path| !path.ends_with("front-plate.dxf"))
        .collect();
    assert!(drawings.len() >= 10, "only {} drawings", drawings.len());
    drawings
}

/// All that `program` writes of the drawings, by folder and name.
fn results(program: &Path, threads: &str) -> BTreeMap<String, Vec<u8>> {
    let room = tempfile::tempdir().expect("a folder");
    let mut results = BTreeMap::new();
    for drawing in drawings() {
        let stem = drawing
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let folder = room.path().join(&stem);
        let output = Command::new(program)
            .arg("plan")
            .arg(&drawing)
            .args([
                "--thickness",
                "30",
                "--material",
                "tool-steel",
                "--finish",
                "Ra 0.9",
                "--out",
            ])
            .arg(&folder)
            .env("RAYON_NUM_THREADS", threads)
            .output()
            .expect("it starts");
        // 1 is an error found in the drawing; what was written is compared all the same.
        assert!(
            matches!(output.status.code(), Some(0 | 1)),
            "{}: {}",
            drawing.display(),
            String::from_utf8_lossy(&output.stderr)
        );
        results.insert(format!("{stem}: printed"), output.stdout);
        for entry in fs::read_dir(&folder).expect("results") {
            let path = entry.expect("listed").path();
            let name = path.file_name().expect("a name").to_string_lossy().into_owned();
            results.insert(format!("{stem}: {name}"), fs::read(path).expect("read"));
        }
    }
    results
}

fn assert_same(one: &BTreeMap<String, Vec<u8>>, other: &BTreeMap<String, Vec<u8>>) {
    assert_eq!(one.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>());
    for (name, bytes) in one {
        assert!(*bytes == other[name], "{name} differs");
    }
}

#[test]
fn every_run_gives_the_same_bytes() {
    let tested = Path::new(env!("CARGO_BIN_EXE_kerfwright"));
    let first = results(tested, "1");
    assert!(
        first.len() >= 5 * drawings().len(),
        "each drawing: printed, svg, json, dxf, html"
    );
    assert_same(&first, &results(tested, "2"));
    match std::env::var_os("KERFWRIGHT_RELEASE") {
        Some(release) => assert_same(&first, &results(Path::new(&release), "2")),
        None => println!("SKIPPED: the release build: KERFWRIGHT_RELEASE does not name it"),
    }
}
