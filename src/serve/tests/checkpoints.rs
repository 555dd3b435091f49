//! How long work goes on when its client has left: the longest processor time between two checkpoints, over drawings as large as the page takes.

use std::f64::consts::TAU;
use std::fmt::Write as _;
use std::thread;
use std::time::Duration;

use hyper::Method;
use hyper::body::Bytes;
use serde_json::json;

use super::super::ASK_HEADER;
use super::{open_site, request};
use crate::cancel::{CancelToken, checkpoint, gaps};

/// At most so much is to be worked between two questions.
const LONGEST: Duration = Duration::from_millis(50);

/// The page gives up an answer after 60 s: what is worked out after it is not looked at.
const PATIENCE: Duration = Duration::from_secs(60);

/// Bytes of a drawing that the page takes.
const LARGEST: usize = 16 << 20;

type Entities = Box<dyn Iterator<Item = String>>;

/// Entities on end, as many as there is room for.
fn drawing(blocks: &str, entities: impl Iterator<Item = String>) -> String {
    let mut text = String::with_capacity(LARGEST);
    text += blocks;
    text += "0\nSECTION\n2\nENTITIES\n";
    for entity in entities {
        if text.len() + entity.len() + 30 > LARGEST {
            break;
        }
        text += &entity;
    }
    text + "0\nENDSEC\n0\nEOF\n"
}

fn line(from: (f64, f64), to: (f64, f64)) -> String {
    format!(
        "0\nLINE\n8\nA\n10\n{:.4}\n20\n{:.4}\n11\n{:.4}\n21\n{:.4}\n",
        from.0, from.1, to.0, to.1
    )
}

fn circle(x: f64, y: f64, radius: f64) -> String {
    format!("0\nCIRCLE\n8\nA\n10\n{x}\n20\n{y}\n40\n{radius}\n")
}

fn polyline(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut text = String::from("0\nLWPOLYLINE\n8\nA\n70\n1\n");
    for (x, y) in points {
        _ = write!(text, "10\n{x:.4}\n20\n{y:.4}\n");
    }
    text
}

fn square(half: f64) -> String {
    polyline([(-half, -half), (half, -half), (half, half), (-half, half)].into_iter())
}

/// A circle with waves, of so many chords.
fn wave(chords: usize) -> impl Iterator<Item = (f64, f64)> {
    (0..chords).map(move |i| {
        let angle = TAU * i as f64 / chords as f64;
        let radius = 200.0 + 10.0 * (40.0 * angle).sin();
        (radius * angle.cos(), radius * angle.sin())
    })
}

fn lines_of_wave(chords: usize) -> impl Iterator<Item = String> {
    let next = wave(chords).skip(1).chain(wave(1));
    wave(chords).zip(next).map(|(from, to)| line(from, to))
}

/// Places in a field of rows of 1 000, a millimetre apart, in no order.
fn shuffled(count: usize) -> impl Iterator<Item = (f64, f64)> {
    // A step without a factor in common with any power of ten takes them all.
    (0..count).map(move |i| {
        let i = i * 7_919 % count;
        ((i % 1000) as f64, (i / 1000) as f64)
    })
}

/// So many copies of a block, 30 mm apart.
fn block(inner: &str, columns: usize, rows: usize) -> String {
    let insert = format!("0\nINSERT\n8\nA\n2\nB\n10\n0\n20\n0\n70\n{columns}\n71\n{rows}\n44\n30\n45\n30\n");
    let blocks = format!("0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nB\n{inner}0\nENDBLK\n0\nENDSEC\n");
    drawing(&blocks, std::iter::once(insert))
}

fn spline(points: usize) -> String {
    let mut text = format!("0\nSPLINE\n8\nA\n70\n8\n71\n3\n74\n{points}\n");
    for (x, y) in wave(points) {
        _ = write!(text, "11\n{x:.4}\n21\n{y:.4}\n");
    }
    text
}

fn plate_with_holes(holes: usize) -> impl Iterator<Item = String> {
    let plate = [(-5., -5.), (1004., -5.), (1004., 104.), (-5., 104.)];
    std::iter::once(polyline(plate.into_iter())).chain(shuffled(holes).map(|(x, y)| circle(x, y, 0.3)))
}

/// Drawings at the limits of the page: 16 MB, 100 000 contours or a million segments.
fn at_the_limits() -> Vec<(&'static str, String)> {
    let cases: Vec<(&'static str, Entities)> = vec![
        (
            "a polyline of 20 000 chords",
            Box::new(std::iter::once(polyline(wave(20_000)))),
        ),
        (
            "a polyline of 600 000 chords",
            Box::new(std::iter::once(polyline(wave(600_000)))),
        ),
        (
            "200 000 single lines round a wave",
            Box::new(lines_of_wave(200_000)),
        ),
        ("99 999 holes in a plate", Box::new(plate_with_holes(99_999))),
        (
            "16 000 overlapping circles",
            Box::new((0..16_000).map(|i| circle(0.01 * f64::from(i), 0.0, 10.0))),
        ),
        (
            "circles round a point",
            Box::new((1..90_000).map(|i| circle(0.0, 0.0, 0.5 * f64::from(i)))),
        ),
        (
            "900 squares in one another",
            Box::new((1..900).map(|i| square(f64::from(i)))),
        ),
        (
            "loose lines",
            Box::new(shuffled(300_000).map(|(x, y)| line((x, y), (x + 0.5, y + 0.25)))),
        ),
        (
            "lines across one another",
            Box::new(shuffled(300_000).map(|(x, y)| line((x, y), (1000.0 - y, x)))),
        ),
        (
            "a spline through 100 000 points",
            Box::new(std::iter::once(spline(100_000))),
        ),
        (
            "texts",
            Box::new((0..1_000_000).map(|i| format!("0\nTEXT\n8\nL{i}\n10\n{i}\n20\n0\n40\n1\n1\nx\n"))),
        ),
        (
            "a layer for each line",
            Box::new(
                shuffled(300_000)
                    .map(|(x, y)| line((x, y), (x + 0.5, y)).replace("\nA\n", &format!("\nL{x}-{y}\n"))),
            ),
        ),
    ];
    let cases = cases
        .into_iter()
        .map(|(what, entities)| (what, drawing("", entities)));
    cases
        .chain([
            (
                "90 000 circles of one block",
                block(&circle(0.0, 0.0, 10.0), 300, 300),
            ),
            ("1 000 gears of one block", block(&polyline(wave(990)), 40, 25)),
        ])
        .collect()
}

/// What is asked between two questions of all that the page works out; a call into an offset library is one piece. Built for tests it
/// takes longer than in a release.
#[test]
#[ignore = "minutes; `bash tests/long checkpoints`"]
fn checkpoints_are_less_than_50_ms_apart() {
    let only = std::env::var("KERFWRIGHT_ONLY").unwrap_or_default();
    let mut too_long = Vec::new();
    for (i, (what, drawing)) in at_the_limits().into_iter().enumerate() {
        // The smallest one in every form.
        let forms: &[&str] = if i == 0 {
            &[
                "/answer",
                "/plan.json",
                "/job-sheet.html",
                "/paths.dxf",
                "/compare.csv",
            ]
        } else {
            &["/answer"]
        };
        for form in forms.iter().filter(|_| what.contains(&only)) {
            let (longest, ended) = longest_of(form, drawing.clone());
            let gap = longest.gaps.values().max().copied().unwrap_or_default();
            println!("{what}, {form}: {gap:.0?} between checkpoints, {ended}");
            for (place, call) in &longest.calls {
                println!("    {call:.0?} in the library called at {place}");
            }
            for ((from, to), gap) in longest.gaps {
                println!("    {gap:.0?} from {from} to {to}");
                if gap > LONGEST {
                    too_long.push(format!("{what}, {form}: {gap:.0?} from {from} to {to}"));
                }
            }
        }
    }
    assert!(too_long.is_empty(), "{}", too_long.join("\n"));
}

/// Works out an answer as the page does, on two threads.
fn longest_of(form: &str, drawing: String) -> (gaps::Longest, String) {
    let ask = json!({ "file": "large.dxf", "job": { "material": "tool-steel", "thickness_mm": 30, "wire_mm": 0.25, "passes": 4 } });
    let request = request(Method::POST, form)
        .header(ASK_HEADER, ask.to_string())
        .body(Bytes::from(drawing));
    let (request, site, token) = (request.expect("a request"), open_site(), CancelToken::default());
    let mut ended = "given up".to_owned();
    let longest = gaps::watch(|| {
        thread::scope(|scope| {
            let (token, work) = (&token, || {
                checkpoint();
                let response = site.respond(&request);
                checkpoint();
                response.status()
            });
            let working = scope.spawn(move || token.run(2, work).expect("threads"));
            for _ in 0..PATIENCE.as_millis() / 10 {
                if working.is_finished() {
                    break;
                }
                thread::sleep(Duration::from_millis(10));
            }
            token.cancel();
            if let Ok(status) = working.join().expect("it does not panic") {
                ended = status.to_string();
            }
        });
    });
    (longest, ended)
}
