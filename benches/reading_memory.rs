//! Memory that the reader takes for each byte of a file, and its time against a plain scan, on 300 000 lines and
//! arcs (54 MB); then memory on files made to take as much as they can. `cargo bench --bench reading_memory`.

use std::fmt::Write;
use std::hint::black_box;
use std::time::Instant;

use kerfwright::dxf;

const ENTITIES: usize = 300_000;
const RUNS: usize = 5;

fn main() {
    let text = drawing(ENTITIES);
    println!(
        "one entity is {} bytes in memory",
        size_of::<dxf::document::Entity>()
    );
    report_memory("300 000 lines and arcs", &text);
    let read = fastest(|| {
        dxf::read(black_box(text.as_bytes()))
            .expect("our own drawing")
            .entities
            .len() as f64
    });
    let scan = fastest(|| plain_scan(black_box(&text)));
    println!(
        "read in {:.0} ms, plain scan {:.0} ms: {:.2} times",
        read * 1e3,
        scan * 1e3,
        read / scan
    );
    drop(text);

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
        report_memory(what, &text);
    }
}

/// Prints the peak of memory while a file is read, beside the file itself.
fn report_memory(what: &str, text: &str) {
    // Linux starts the peak anew on this; elsewhere there are no figures.
    let reset = std::fs::write("/proc/self/clear_refs", "5");
    let before = memory("VmRSS:");
    let document = dxf::read(text.as_bytes()).expect("a sound file");
    let peak = memory("VmHWM:");
    black_box(&document);
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

/// Seconds of the fastest of some runs.
fn fastest(run: impl Fn() -> f64) -> f64 {
    (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            black_box(run());
            start.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

/// The least that any reader must do: split lines, parse the codes, and parse the values that are numbers.
fn plain_scan(text: &str) -> f64 {
    let mut sum = 0.0;
    let mut lines = text.lines();
    while let (Some(code), Some(value)) = (lines.next(), lines.next()) {
        if let Ok(10..=59) = code.trim().parse::<i32>() {
            sum += value.trim().parse::<f64>().expect("a number");
        }
    }
    sum
}

/// A memory figure of this process in kB, where the system tells it.
fn memory(name: &str) -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status
        .lines()
        .find_map(|line| line.strip_prefix(name)?.trim().strip_suffix(" kB")?.parse().ok())
}

/// A drawing of lines and arcs with handles, owners and subclass markers.
fn drawing(entities: usize) -> String {
    let mut text = String::with_capacity(entities * 200);
    text += "  0\r\nSECTION\r\n  2\r\nENTITIES\r\n";
    for i in 0..entities {
        let (x, y) = ((i % 1000) as f64 * 1.234_567_89, (i / 1000) as f64 * 2.345_678_91);
        let layer = ["OUTLINE", "HOLES"][i / 100 % 2];
        let entity = |kind: &str, subclass: &str| {
            format!(
                "  0\r\n{kind}\r\n  5\r\n{:X}\r\n330\r\n1F\r\n100\r\nAcDbEntity\r\n  8\r\n{layer}\r\n\
                 100\r\n{subclass}\r\n 10\r\n{x:.9}\r\n 20\r\n{y:.9}\r\n 30\r\n0.0\r\n",
                i + 0x100
            )
        };
        let written = if i % 2 == 0 {
            text += &entity("LINE", "AcDbLine");
            write!(
                text,
                " 11\r\n{:.9}\r\n 21\r\n{:.9}\r\n 31\r\n0.0\r\n",
                x + 1.0,
                y + 0.5
            )
        } else {
            text += &entity("ARC", "AcDbCircle");
            let (radius, start) = (0.5 + (i % 7) as f64 * 0.1, (i % 360) as f64);
            write!(
                text,
                " 40\r\n{radius:.9}\r\n100\r\nAcDbArc\r\n 50\r\n{start:.6}\r\n 51\r\n{:.6}\r\n",
                start + 90.123_456
            )
        };
        written.expect("a string takes all that is written to it");
    }
    text + "  0\r\nENDSEC\r\n  0\r\nEOF\r\n"
}
