//! What a plan would take if its proofs were for nothing: reading, proposing the paths, writing; against the whole of it.
//! `cargo bench --bench floor`, on Linux.
//!
//! The drawings and options are those of `benches/compare.py`. *Reading* is from the bytes to contours, *proposing* one call of the
//! offset library for each contour and pass, *writing* the making of SVG and JSON and their files. Checks, proofs, reach, stock, starts, order
//! and estimate are in the whole alone. All figures are processor time of the process, user and system, whatever the number of threads.

mod bench;

use std::fs;
use std::hint::black_box;
use std::path::Path;

use bench::{dxf_of_lines, dxf_of_polyline, sides, wavy};
use cavalier_contours::polyline::{
    PlineCreation, PlineOffsetOptions, PlineSource, PlineSourceMut, Polyline as LibraryLoop,
};
use kerfwright::contour::{Contours, Role};
use kerfwright::job::{JobFile, Purposes, Reading};
use kerfwright::shop::Book;
use kerfwright::{Planner, contour, drawing, dxf, plan, report};

/// The kernel counts processor time in hundredths of a second (`USER_HZ`).
const TICKS_PER_S: f64 = 100.0;

/// Each step is run again until it has taken as long, s.
const LONG_ENOUGH_S: f64 = 1.0;

fn main() {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let fixture = |name: &str| fs::read(fixtures.join(name)).expect("our own drawing is here");
    let waves: Vec<(f64, f64)> = wavy(100_000)
        .into_iter()
        .map(|(x, y)| (x / 10.0, y / 10.0))
        .collect();
    let drawings = [
        ("die for a clock hand", fixture("clock/hand-die.dxf")),
        ("gear, 24 teeth", fixture("shapes/gear-24.dxf")),
        ("plate, 200 holes", fixture("shapes/plate-200-holes.dxf")),
        (
            "100 000 segments, one polyline",
            dxf_of_polyline(&waves).into_bytes(),
        ),
        (
            "100 000 segments, single lines",
            dxf_of_lines(sides(&waves)).into_bytes(),
        ),
    ];
    println!("| drawing, CPU ms | reading | proposing | writing | floor | whole | whole / floor |");
    println!("|---|--:|--:|--:|--:|--:|--:|");
    for (name, bytes) in drawings {
        row(name, &bytes);
    }
}

fn row(name: &str, bytes: &[u8]) {
    let (reading, purposes) = (Reading::default(), Purposes::default());
    let book = Book::built_in().expect("the built-in book is sound");
    let job = JobFile::new("tool-steel", 30.0).wire_mm(0.25).passes(4_usize);
    let planner = Planner::new(&book).job(&job);
    let out = std::env::temp_dir().join(format!("kerfwright-floor-{}", std::process::id()));
    fs::create_dir_all(&out).expect("a folder for results");

    let contours = || {
        let document = dxf::read(bytes).expect("our own drawing can be read");
        let drawn = drawing::from_document(&document, &reading).expect("our own drawing makes curves");
        contour::build(&drawn, &reading, &purposes)
    };
    let planned = || planner.plan(name, bytes).expect("it can be planned");
    let write = |plan: &plan::Plan| {
        fs::write(out.join("plan.svg"), report::svg::plan(plan, report::Lengths::Mm)).expect("a result");
        fs::write(out.join("plan.json"), report::json::plan(plan)).expect("a result");
    };
    let (found, made) = (contours(), planned());
    let offsets_mm: Vec<f64> = made.groups[0]
        .passes()
        .iter()
        .map(|pass| pass.offset_mm)
        .collect();

    let read = cpu_ms(contours);
    let proposed = cpu_ms(|| propose(&found, &offsets_mm));
    let written = cpu_ms(|| write(&made));
    let whole = cpu_ms(|| write(&planned()));
    let floor = read + proposed + written;
    println!(
        "| {name} | {read:.1} | {proposed:.1} | {written:.1} | {floor:.1} | {whole:.1} | {:.1} |",
        whole / floor
    );
    fs::remove_dir_all(&out).expect("our own folder");
}

/// The paths of all closed contours as the library proposes them, unproved.
fn propose(contours: &Contours, offsets_mm: &[f64]) -> usize {
    let mut loops = 0;
    for contour in contours.list.iter().filter(|contour| contour.role != Role::Open) {
        let mut source = LibraryLoop::with_capacity(contour.polyline.vertices.len(), true);
        for v in &contour.polyline.vertices {
            source.add(v.at.x, v.at.y, v.bulge);
        }
        // Positive is to the left there: inside, for a counter-clockwise loop.
        let sign = match contour.role {
            Role::Opening => 1.0,
            _ => -1.0,
        };
        for offset_mm in offsets_mm {
            let options = PlineOffsetOptions::new();
            loops += source.parallel_offset_opt(sign * offset_mm, &options).len();
        }
    }
    loops
}

/// Processor time of one run of a job, ms: the mean of as many as take long enough to be counted.
fn cpu_ms<T>(job: impl Fn() -> T) -> f64 {
    let begun = cpu_s();
    let mut runs = 0;
    loop {
        black_box(job());
        runs += 1;
        let spent = cpu_s() - begun;
        if spent >= LONG_ENOUGH_S {
            return 1e3 * spent / f64::from(runs);
        }
    }
}

/// Processor time of this process so far, user and system, s (fields 14 and 15 of `/proc/self/stat`, proc(5)).
fn cpu_s() -> f64 {
    let stat = fs::read_to_string("/proc/self/stat").expect("Linux");
    let after_name = stat.rsplit(')').next().expect("a name in brackets");
    let fields: Vec<f64> = after_name
        .split_whitespace()
        .skip(1)
        .filter_map(|f| f.parse().ok())
        .collect();
    (fields[10] + fields[11]) / TICKS_PER_S
}
