//! Memory for each byte of a file, and time against a plain scan, to read, to read and chain, to look for gaps, crossings,
//! nesting and corners besides, and to measure the widths of 300 000 lines and arcs (about 50 MB), loose and in loops; then
//! the reader's memory on files made to take as much as they can. `cargo bench --bench reading_memory`.

mod bench;

use std::fmt::Write;
use std::hint::black_box;
use std::sync::Mutex;
use std::time::Instant;

use bench::{plain_scan, wavy};
use kerfwright::contour::{self, Contours};
use kerfwright::job::{Purposes, Reading};
use kerfwright::{drawing, dxf};
use log::{Log, Metadata, Record};

const ENTITIES: usize = 300_000;
const RUNS: usize = 10;

/// The drawings of many entities.
const DRAWINGS: [&str; 4] = [
    "loose lines",
    "loose lines and arcs that cross",
    "one loop of lines",
    "loops of lines and arcs",
];

/// When the pieces were last joined and chained.
static CHAINED: Mutex<Option<Instant>> = Mutex::new(None);

/// Notes the mark that the library sets between chaining the pieces and looking for what is wrong with them.
struct Marks;

impl Log for Marks {
    fn enabled(&self, _: &Metadata<'_>) -> bool {
        true
    }

    fn log(&self, record: &Record<'_>) {
        if record.args().to_string().ends_with("curves joined and chained") {
            *CHAINED.lock().expect("no thread of the bench panics") = Some(Instant::now());
        }
    }

    fn flush(&self) {}
}

fn main() {
    log::set_logger(&Marks).expect("the bench is alone");
    log::set_max_level(log::LevelFilter::Debug);
    let arguments: Vec<String> = std::env::args().collect();
    if let [_, what, job] = arguments.as_slice()
        && DRAWINGS.contains(&what.as_str())
    {
        let text = many(what);
        match job.as_str() {
            "read" => report_memory(job, &text, read),
            "chained and examined" => report_memory(job, &text, examined),
            _ => report_memory(job, &text, measured),
        }
        return;
    }
    println!(
        "one entity is {} bytes in memory",
        size_of::<dxf::document::Entity>()
    );
    for what in DRAWINGS {
        println!("{ENTITIES} entities, {what}");
        // In a process of its own each, so that none finds memory that another has left.
        for job in ["read", "chained and examined", "widths measured too"] {
            let own = std::env::current_exe().expect("a bench knows where it is");
            let status = std::process::Command::new(own).args([what, job]).status();
            assert!(status.expect("the bench starts itself").success());
        }
        report_times(&many(what));
    }

    for (what, piece) in [
        ("unknown entities", "0\nA\n"),
        ("circles", "0\nCIRCLE\n10\n0\n20\n0\n40\n1\n"),
        ("inserts without a name", "0\nINSERT\n10\n0\n20\n0\n"),
        ("empty splines", "0\nSPLINE\n"),
        ("empty polylines", "0\nPOLYLINE\n0\nSEQEND\n"),
        ("points of a spline", "10\n0\n20\n0\n"),
        ("vertices of an MLINE", "11\n0\n21\n0\n74\n2\n41\n0\n"),
        ("a layer for each entity", "0\nA\n8\n#\n"),
        ("a linetype for each entity", "0\nA\n6\n#\n"),
        ("bad handles", "0\nA\n5\n?\n"),
    ] {
        let begin = match piece.as_bytes()[0] {
            b'0' => "",
            _ if piece.contains("74") => "0\nMLINE\n73\n1\n",
            _ => "0\nSPLINE\n71\n3\n",
        };
        let mut text = format!("0\nSECTION\n2\nENTITIES\n{begin}");
        for i in 0..8_000_000 / piece.len() {
            text += &piece.replace('#', &format!("{i:x}"));
        }
        text += "0\nENDSEC\n0\nEOF\n";
        report_memory(what, &text, read);
    }
}

fn read(text: &str) -> dxf::document::Document {
    dxf::read(text.as_bytes()).expect("our own drawing can be read")
}

/// As `inspect` does it: what was read is given up once it is drawn.
fn examined(text: &str) -> (drawing::Drawing, Contours) {
    let drawing =
        drawing::from_document(&read(text), &Reading::default()).expect("our own drawing has curves");
    let contours = contour::chain(&drawing, &Reading::default(), &Purposes::default());
    (drawing, contours)
}

fn measured(text: &str) -> (drawing::Drawing, Contours) {
    let (drawing, mut contours) = examined(text);
    contours.measure_widths();
    (drawing, contours)
}

/// Prints how long it takes to read, to read and chain, to examine, and to measure widths besides, beside a plain scan. They
/// take turns, so that what else the machine does falls on all of them.
fn report_times(text: &str) {
    let mut best = [f64::INFINITY; 5];
    let mut take = |i: usize, seconds: f64| best[i] = best[i].min(seconds);
    for _ in 0..RUNS {
        take(0, seconds(|| plain_scan(black_box(text))));
        take(1, seconds(|| read(black_box(text))));
        let start = Instant::now();
        take(3, seconds(|| examined(black_box(text))));
        let chained = CHAINED.lock().expect("no thread of the bench panics").take();
        take(2, (chained.expect("chaining is marked") - start).as_secs_f64());
        take(4, seconds(|| measured(black_box(text))));
    }
    let [scan, ..] = best;
    let times =
        |name: &str, seconds: f64| format!("{name} {:.0} ms: {:.2} times", seconds * 1e3, seconds / scan);
    println!(
        "plain scan {:.0} ms, {}, {}, {}, {}",
        scan * 1e3,
        times("read", best[1]),
        times("read and chained", best[2]),
        times("gaps, crossings, nesting and corners too", best[3]),
        times("widths too", best[4])
    );
}

/// How long `job` takes until it has made its result.
fn seconds<T>(job: impl FnOnce() -> T) -> f64 {
    let start = Instant::now();
    let made = black_box(job());
    let taken = start.elapsed().as_secs_f64();
    drop(made);
    taken
}

/// Prints the peak of memory during `job`, beside the file itself.
fn report_memory<T>(what: &str, text: &str, job: impl Fn(&str) -> T) {
    // Linux starts the peak anew on this; elsewhere there are no figures.
    let reset = std::fs::write("/proc/self/clear_refs", "5");
    let before = memory("VmRSS:");
    let made = job(text);
    let peak = memory("VmHWM:");
    black_box(&made);
    match (reset, before, peak) {
        (Ok(()), Some(before), Some(peak)) => {
            let bytes = (peak - before) * 1024.0;
            println!(
                "{what}: {:.1} MB, {:.2} bytes a byte",
                text.len() as f64 / 1e6,
                bytes / text.len() as f64
            );
        }
        _ => println!("{what}: this system does not tell the memory of a process"),
    }
}

/// A memory figure of this process in kB, where the system tells it.
fn memory(name: &str) -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status
        .lines()
        .find_map(|line| line.strip_prefix(name)?.trim().strip_suffix(" kB")?.parse().ok())
}

/// One of [`DRAWINGS`].
fn many(what: &str) -> String {
    match what {
        "loose lines" => written((0..ENTITIES).map(loose_line)),
        "loose lines and arcs that cross" => written((0..ENTITIES).map(crossing)),
        "one loop of lines" => written(lines_of(&wavy(ENTITIES))),
        _ => written((0..ENTITIES / 8).flat_map(rounded_square)),
    }
}

/// A line or an arc.
enum Drawn {
    Line([f64; 4]),
    /// Centre, radius, and the angles where it starts and ends.
    Arc([f64; 5]),
}

/// Where piece `i` of a field of pieces stands, `step` mm apart.
fn place(i: usize, step: f64) -> (f64, f64) {
    ((i % 1000) as f64 * step, (i / 1000) as f64 * step)
}

/// Lines that meet nothing.
fn loose_line(i: usize) -> Drawn {
    let (x, y) = place(i, 1.234_567_89);
    Drawn::Line([x, y, x + 0.5, y + 0.25])
}

/// Lines and arcs that meet their neighbours, but nowhere at their ends.
fn crossing(i: usize) -> Drawn {
    let (x, y) = place(i, 1.234_567_89);
    if i.is_multiple_of(2) {
        Drawn::Line([x, y, x + 1.0, y + 0.5])
    } else {
        let start = (i % 360) as f64;
        Drawn::Arc([x, y, 0.5 + (i % 7) as f64 * 0.1, start, start + 90.123_456])
    }
}

fn lines_of(points: &[(f64, f64)]) -> impl Iterator<Item = Drawn> + '_ {
    let next = points.iter().cycle().skip(1);
    points
        .iter()
        .zip(next)
        .map(|(a, b)| Drawn::Line([a.0, a.1, b.0, b.1]))
}

/// A square of 8 mm with corners of 1 mm radius, in four lines and four arcs.
fn rounded_square(i: usize) -> [Drawn; 8] {
    let (x, y) = place(i, 12.345_678_9);
    [
        Drawn::Line([x + 1.0, y, x + 7.0, y]),
        Drawn::Arc([x + 7.0, y + 1.0, 1.0, 270.0, 360.0]),
        Drawn::Line([x + 8.0, y + 1.0, x + 8.0, y + 7.0]),
        Drawn::Arc([x + 7.0, y + 7.0, 1.0, 0.0, 90.0]),
        Drawn::Line([x + 7.0, y + 8.0, x + 1.0, y + 8.0]),
        Drawn::Arc([x + 1.0, y + 7.0, 1.0, 90.0, 180.0]),
        Drawn::Line([x, y + 7.0, x, y + 1.0]),
        Drawn::Arc([x + 1.0, y + 1.0, 1.0, 180.0, 270.0]),
    ]
}

/// A drawing of these, with handles, owners and subclass markers.
fn written(pieces: impl Iterator<Item = Drawn>) -> String {
    let mut text = String::with_capacity(ENTITIES * 200);
    text += "  0\r\nSECTION\r\n  2\r\nENTITIES\r\n";
    for (i, piece) in pieces.enumerate() {
        let layer = ["OUTLINE", "HOLES"][i / 100 % 2];
        let entity = |kind: &str, subclass: &str, x: f64, y: f64| {
            format!(
                "  0\r\n{kind}\r\n  5\r\n{:X}\r\n330\r\n1F\r\n100\r\nAcDbEntity\r\n  8\r\n{layer}\r\n\
                 100\r\n{subclass}\r\n 10\r\n{x:.9}\r\n 20\r\n{y:.9}\r\n 30\r\n0.0\r\n",
                i + 0x100
            )
        };
        match piece {
            Drawn::Line([x0, y0, x1, y1]) => {
                text += &entity("LINE", "AcDbLine", x0, y0);
                write!(text, " 11\r\n{x1:.9}\r\n 21\r\n{y1:.9}\r\n 31\r\n0.0\r\n")
            }
            Drawn::Arc([x, y, radius, start, end]) => {
                text += &entity("ARC", "AcDbCircle", x, y);
                write!(
                    text,
                    " 40\r\n{radius:.9}\r\n100\r\nAcDbArc\r\n 50\r\n{start:.6}\r\n 51\r\n{end:.6}\r\n"
                )
            }
        }
        .expect("a string takes all that is written to it");
    }
    text + "  0\r\nENDSEC\r\n  0\r\nEOF\r\n"
}
