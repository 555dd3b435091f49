//! Every figure of plans recomputed in Python from the book, the job and the lengths of the path (`reference/recompute.py`).

use std::env;
use std::process::Command;

use crate::common::root;

/// Book, job and path in; every figure of the plan out, bands too. Asks Python 3.11 or newer, which reads TOML by itself; without it the
/// test says SKIPPED. With `KERFWRIGHT_WHOLE_SWEEP` all drawings, materials, wires and heights.
#[test]
fn every_figure_follows_from_book_job_and_path() {
    let python = |arguments: &[&str]| Command::new("python3").args(arguments).output();
    if !python(&["-c", "import tomllib"]).is_ok_and(|output| output.status.success()) {
        println!("SKIPPED: no python3 of version 3.11 or newer");
        return;
    }
    let script = root().join("tests/reference/recompute.py");
    let script = script.to_str().expect("a path of text");
    let mut arguments = vec![script, env!("CARGO_BIN_EXE_kerfwright")];
    if env::var_os("KERFWRIGHT_WHOLE_SWEEP").is_none() {
        arguments.push("--few");
    }
    let output = python(&arguments).expect("it has just been started");
    let said = String::from_utf8_lossy(&output.stdout);
    println!("{said}");
    let failed = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}{failed}");
    let figures = said
        .split(" figures compared")
        .next()
        .and_then(|before| before.rsplit(' ').next());
    let figures: usize = figures
        .and_then(|word| word.parse().ok())
        .expect("it says how many");
    assert!(figures > 6000, "only {figures} figures were compared");
}
