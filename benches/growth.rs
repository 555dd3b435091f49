//! How the cost of each room grows with the number of segments. `cargo bench --bench growth`, or with a number of
//! segments to run that size alone.
//!
//! The exponent in the last column is the slope from the size before to the largest one: 1 is linear. The last two rows are
//! yardsticks for what n log n and the caches of the machine leave possible: sorting as many points, and looking each one up
//! in an index of as many boxes.

mod bench;

use std::time::Duration;

use bench::{dxf_of_lines, shortest, wavy};
use kerfwright::check::{self, Stage, Subject};
use kerfwright::geometry::{Point, Polyline, SegmentIndex};
use kerfwright::job::{Purposes, Reading};
use kerfwright::shop::Book;
use kerfwright::{contour, drawing, dxf, pass, plan, report, toolpath};

const STEPS: [&str; 9] = [
    "read the tags",
    "curves",
    "contours",
    "one path, verified",
    "checks",
    "JSON",
    "SVG",
    "yardstick: points sorted",
    "yardstick: each looked up in an index",
];

fn main() {
    let asked: Option<usize> = std::env::args()
        .skip(1)
        .find_map(|argument| argument.parse().ok());
    let sizes = asked.map_or_else(|| vec![1_000, 10_000, 100_000, 1_000_000], |size| vec![size]);
    let columns: Vec<Vec<Duration>> = sizes.iter().map(|&size| steps(size)).collect();
    println!(
        "| step, ms | {} | exponent |",
        sizes
            .iter()
            .map(|size| format!("{size} segments"))
            .collect::<Vec<_>>()
            .join(" | ")
    );
    println!("|---|{}--:|", "--:|".repeat(sizes.len()));
    for (i, step) in STEPS.iter().enumerate() {
        let times: Vec<f64> = columns.iter().map(|column| column[i].as_secs_f64()).collect();
        let cells: Vec<String> = times.iter().map(|time| format!("{:.2}", time * 1e3)).collect();
        let exponent = match times[..] {
            [.., before, last] => format!("{:.2}", (last / before).log10()),
            _ => String::new(),
        };
        println!("| {step} | {} | {exponent} |", cells.join(" | "));
    }
}

/// The shortest time of each step, in the order of [`STEPS`].
fn steps(segments: usize) -> Vec<Duration> {
    let text = dxf_of_lines(&wavy(segments));
    let (reading, uses) = (Reading::default(), Purposes::default());
    let book = Book::built_in().expect("the built-in book is sound");
    let ask = pass::PassRequest::new("tool-steel", 30.0, 0.25, 4);

    let document = dxf::read(text.as_bytes()).expect("our own drawing can be read");
    let drawn = drawing::from_document(&document, &reading).expect("our own drawing makes curves");
    let contours = contour::build(&drawn, &reading, &uses);
    let outline = &contours.list[0].polyline;
    let planned =
        plan::plan("waves", text.as_bytes(), &reading, &uses, &book, &ask).expect("it can be planned");
    let wires = pass::wire_reach(&book);
    let subject = Subject {
        drawing: &planned.inspection.drawing,
        contours: &planned.inspection.contours,
        questions: &planned.inspection.questions,
        toolpaths: Some(&planned.toolpaths),
        process: Some(&planned.process),
        groups: Vec::new(),
        wires: &wires,
        rules: &book.rules,
    };

    vec![
        shortest(|| dxf::read(text.as_bytes())),
        shortest(|| drawing::from_document(&document, &reading)),
        shortest(|| contour::build(&drawn, &reading, &uses)),
        shortest(|| toolpath::offset(outline, 0.125)),
        shortest(|| check::run(&subject, Stage::Path)),
        shortest(|| report::json::plan(&planned)),
        shortest(|| report::svg::plan(&planned)),
        shortest(|| sorted(outline)),
        shortest(|| looked_up(outline)),
    ]
}

/// The vertices in the order of one coordinate, then the other.
fn sorted(outline: &Polyline) -> Vec<Point> {
    let mut points: Vec<Point> = outline.vertices.iter().map(|v| v.at).collect();
    points.sort_unstable_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points
}

/// How many segments touch one another by their boxes.
fn looked_up(outline: &Polyline) -> usize {
    let index = SegmentIndex::of([outline]);
    let touching = index
        .segments()
        .iter()
        .map(|segment| index.near(segment.bounds()).count());
    touching.sum()
}
