//! How many drawings a second become rows of a table, with one worker and with two, and what goes in and out.
//! `cargo bench --bench quoting`; with `KERFWRIGHT_REAL_DRAWINGS` set, those of that folder too.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

const ASKED: [&str; 5] = ["--thickness", "20", "--material", "tool-steel", "--workers"];
/// The workshop's parts that the usual machine can hold, each so many times.
const PARTS: [&str; 6] = [
    "balance-key",
    "decorative-hand",
    "escape-wheel",
    "hand-die",
    "hand-punch",
    "ratchet",
];
const COPIES: usize = 50;
const RUNS: usize = 5;

fn main() {
    let workshop = tempfile::tempdir().expect("a folder");
    for part in PARTS {
        let drawing = Path::new("fixtures/clock").join(part).with_extension("dxf");
        for copy in 0..COPIES {
            fs::copy(&drawing, workshop.path().join(format!("{part}-{copy}.dxf"))).expect("copied");
        }
    }
    let mut folders = vec![("parts of the workshop", workshop.path().to_owned())];
    folders.extend(
        std::env::var_os("KERFWRIGHT_REAL_DRAWINGS").map(|folder| ("real drawings", PathBuf::from(folder))),
    );
    println!(
        "| drawings | number | kB in, each | bytes out, each | one worker, a second | two workers, a second | ratio |"
    );
    println!("|---|--:|--:|--:|--:|--:|--:|");
    for (name, folder) in folders {
        let sizes: Vec<u64> = fs::read_dir(&folder)
            .expect("a folder")
            .map(|entry| entry.expect("an entry").metadata().expect("its size").len())
            .collect();
        let number = sizes.len() as f64;
        let (mut one, mut two, mut out) = (f64::INFINITY, f64::INFINITY, 0);
        // In turn, so that other work on the machine falls on both.
        for _ in 0..RUNS {
            let (seconds, bytes) = quote(&folder, "1");
            one = one.min(seconds);
            two = two.min(quote(&folder, "2").0);
            out = bytes;
        }
        println!(
            "| {name} | {number} | {:.1} | {:.0} | {:.0} | {:.0} | {:.2} |",
            sizes.iter().sum::<u64>() as f64 / number / 1e3,
            out as f64 / number,
            number / one,
            number / two,
            one / two
        );
    }
}

/// Seconds of a whole run, and the length of its table.
fn quote(folder: &Path, workers: &str) -> (f64, usize) {
    let begun = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_kerfwright"))
        .arg("quote")
        .arg(folder)
        .args(ASKED)
        .arg(workers)
        .stderr(Stdio::null())
        .output()
        .expect("the command starts");
    let seconds = begun.elapsed().as_secs_f64();
    let rows = output.stdout.iter().filter(|byte| **byte == b'\n');
    let drawings = fs::read_dir(folder).expect("a folder").count();
    assert_eq!(
        rows.count(),
        drawings + 1,
        "a row each, below the names of the columns"
    );
    (seconds, output.stdout.len())
}
