//! The pictures of `docs/gallery.md` are what the tool draws now, and every picture that is kept is whole.
//!
//! `UPDATE=1 cargo test --test all gallery` rewrites them.

#[path = "../../examples/draw_gallery.rs"]
mod draw_gallery;

use std::collections::{BTreeMap, HashSet};
use std::fs;

use kerfwright::job::JobFile;
use kerfwright::plan::Planner;
use kerfwright::report::html;
use roxmltree::{Document, Node};

use crate::common::{book, fixture_bytes, root};

#[test]
fn the_pictures_kept_are_what_the_tool_draws_now() {
    let docs = root().join("docs");
    let pictures = draw_gallery::pictures().expect("the gallery's drawings can be planned");
    let mut made: BTreeMap<String, String> = BTreeMap::new();
    made.insert(
        "gallery.md".into(),
        draw_gallery::page(&pictures).expect("answers"),
    );
    for picture in pictures {
        whole(picture.file, &picture.svg);
        made.insert(format!("gallery/{}", picture.file), picture.svg);
    }
    if std::env::var_os("UPDATE").is_some() {
        fs::create_dir_all(docs.join("gallery")).expect("a folder for the pictures");
        for (name, text) in &made {
            fs::write(docs.join(name), text).expect("a picture can be written");
        }
    }
    let kept = fs::read_dir(docs.join("gallery")).expect("the gallery is kept");
    let kept = kept.map(|entry| {
        format!(
            "gallery/{}",
            entry.expect("an entry").file_name().to_string_lossy()
        )
    });
    let kept: HashSet<String> = kept.chain(["gallery.md".to_owned()]).collect();
    assert_eq!(kept, made.keys().cloned().collect(), "the files of the gallery");
    for (name, text) in &made {
        assert!(
            fs::read_to_string(docs.join(name)).expect("a kept file") == *text,
            "docs/{name} is not what the tool draws now: look at the difference, then `UPDATE=1 cargo test --test all gallery`"
        );
    }
}

/// Advance width of a letter, em. Source: the `hmtx` table of DejaVu Sans 2.37, the widest of the faces that the sheets
/// name, rounded up to 0.02 em.
pub(crate) fn letter_em(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' => 0.28,
        ' ' | ',' | '.' | '·' | '/' | ':' | ';' | 'f' | '-' | 'I' | 'J' => 0.38,
        '(' | ')' | '[' | ']' | 't' | 'r' | '²' | '!' | '"' => 0.46,
        '*' | '_' | '°' | '–' | '?' | 's' | 'z' => 0.54,
        'L' | 'c' | 'F' | 'k' | 'v' | 'x' | 'y' => 0.60,
        'P' | 'T' | 'Y' | 'a' | 'e' | 'o' => 0.62,
        'w' | '&' | 'D' | 'G' | 'O' | 'Q' | 'Ø' => 0.82,
        '#' | '+' | '<' | '=' | '>' | '×' | '±' | '≤' | '−' | 'M' => 0.88,
        '%' | 'm' | '@' | 'W' | '—' | '…' => 1.0,
        'a'..='z' | '0'..='9' | 'E' | 'S' | 'µ' => 0.64,
        _ => 0.76,
    }
}

/// Average of the bold face against the plain one.
const BOLD: f64 = 1.12;

/// A box on a picture.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Room {
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

impl Room {
    pub(crate) fn holds(self, other: Self) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && other.right <= self.right
            && other.bottom <= self.bottom
    }

    pub(crate) fn overlaps(self, other: Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}

#[test]
fn the_sheet_of_the_demo_is_whole() {
    let out = root().join("out");
    let files = fs::read_dir(out).expect("the demo's results are kept");
    let files = files.map(|entry| entry.expect("an entry").path());
    let sheets = files.filter(|file| file.extension().is_some_and(|kind| kind == "svg"));
    let mut seen = 0;
    for sheet in sheets {
        whole(
            &sheet.display().to_string(),
            &fs::read_to_string(&sheet).expect("a sheet"),
        );
        seen += 1;
    }
    assert!(seen > 0, "no sheet is kept");
}

/// A part of 3 mm, usual ones, a plate of nearly a metre, and hundreds of openings: every picture in the job sheet of each.
#[test]
fn the_pictures_in_job_sheets_are_whole() {
    let fixture = |name: &str| fixture_bytes(format!("clock/{name}.dxf"));
    let given = |material: &str, thickness_mm: u32, wire_mm: f64, passes: u32| {
        format!(
            "material = \"{material}\"\nthickness_mm = {thickness_mm}\nwire_mm = {wire_mm}\npasses = {passes}"
        )
    };
    let demand = "material = \"tool-steel\"\nthickness_mm = 30\nfinish = \"Ra 0.8\"\ntolerance = \"±0.01\"\n[layer.START]\nuse = \"start-hole\"";
    let cases = [
        ("balance-key", fixture("balance-key"), given("brass", 4, 0.1, 3)),
        ("hand-die", fixture("hand-die"), demand.to_owned()),
        ("escape-wheel", fixture("escape-wheel"), given("brass", 5, 0.2, 3)),
        ("front-plate", fixture("front-plate"), given("brass", 12, 0.25, 2)),
        ("sieve", sieve().into_bytes(), given("tool-steel", 10, 0.25, 2)),
    ];
    for (name, drawing, job) in cases {
        let job = JobFile::parse(&job).expect("a sound job");
        let file = format!("{name}.dxf");
        let plan = Planner::new(book())
            .job(&job)
            .plan(&file, &drawing)
            .expect("a sound drawing");
        let alternatives = plan.alternatives().expect("the same job");
        let page = html::plan(&plan, Some(&alternatives));
        let mut ids = HashSet::new();
        let mut pictures = 0;
        for svg in page.split("<svg").skip(1) {
            let (svg, _) = svg.split_once("</svg>").expect("the end of a picture");
            let svg = format!("<svg{svg}</svg>");
            for id in whole(&format!("picture {pictures} of {name}"), &svg) {
                assert!(ids.insert(id.clone()), "{name}: id {id} in two pictures");
            }
            pictures += 1;
        }
        // The sheet, the working day and the accuracy budget at least; without a time the sheet alone.
        let least = if plan.estimate.time.is_some() { 3 } else { 1 };
        assert!(pictures >= least, "{name}: {pictures} pictures");
    }
}

/// A plate of 410 by 310 mm with 285 round openings of three sizes.
fn sieve() -> String {
    let corners = [(0, 0), (410, 0), (410, 310), (0, 310)].map(|(x, y)| format!("10\n{x}\n20\n{y}\n"));
    let openings = (1..=19).flat_map(|i| {
        (1..=15).map(move |j| {
            let radius = 4 + (i + j) % 3;
            format!(
                "0\nCIRCLE\n8\nCUT\n10\n{}\n20\n{}\n40\n{radius}\n",
                i * 20,
                j * 20
            )
        })
    });
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
         0\nLWPOLYLINE\n8\nCUT\n90\n4\n70\n1\n{}{}0\nENDSEC\n0\nEOF\n",
        corners.concat(),
        openings.collect::<String>()
    )
}

/// Every coordinate and every text, measured by a rule that does not come from the drawing code, lies on the page; no
/// text is cut short or covers another. Returns the ids.
fn whole(file: &str, svg: &str) -> HashSet<String> {
    let document = Document::parse(svg).unwrap_or_else(|error| panic!("{file}: {error}"));
    let numbers = |text: &str| -> Vec<f64> {
        text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
            .filter(|part| !part.is_empty())
            .map(|part| {
                part.parse()
                    .unwrap_or_else(|_| panic!("{file}: {part} is no number"))
            })
            .collect()
    };
    let view = numbers(document.root_element().attribute("viewBox").expect("a view box"));
    let page = Room {
        left: view[0],
        top: view[1],
        right: view[0] + view[2],
        bottom: view[1] + view[3],
    };
    let mut ids = HashSet::new();
    let mut labels: Vec<(Room, String)> = Vec::new();
    for node in document.descendants().filter(Node::is_element) {
        if let Some(id) = node.attribute("id") {
            assert!(ids.insert(id.to_owned()), "{file}: id {id} twice");
        }
        let number = |name: &str| node.attribute(name).map(|value| numbers(value)[0]);
        for (x, y) in [("x", "y"), ("x1", "y1"), ("x2", "y2"), ("cx", "cy")] {
            if let (Some(x), Some(y)) = (number(x), number(y)) {
                let at = Room {
                    left: x,
                    top: y,
                    right: x,
                    bottom: y,
                };
                assert!(page.holds(at), "{file}: {x} {y} of {:?}", node.tag_name().name());
            }
        }
        for (x, y) in node
            .attribute("d")
            .map_or_else(Vec::new, |data| path_points(file, data))
        {
            let at = Room {
                left: x,
                top: y,
                right: x,
                bottom: y,
            };
            assert!(page.holds(at), "{file}: {x} {y} of a path");
        }
        if node.tag_name().name() == "text" {
            let words = node.text().unwrap_or_default().trim().to_owned();
            assert!(!words.ends_with('…'), "{file}: `{words}` is cut short");
            let room = room_of(node, &words);
            assert!(page.holds(room), "{file}: `{words}` runs off the page");
            labels.push((room, words));
        }
    }
    assert!(labels.len() >= 5, "{file}: a picture without words");
    for (i, (room, words)) in labels.iter().enumerate() {
        for (other, covered) in &labels[i + 1..] {
            assert!(!room.overlaps(*other), "{file}: `{words}` covers `{covered}`");
        }
    }
    ids
}

/// Where the steps of a path begin and end.
fn path_points(file: &str, data: &str) -> Vec<(f64, f64)> {
    let mut points = Vec::new();
    let mut rest = data;
    while let Some(command) = rest.chars().next() {
        let end = rest[1..]
            .find(|c: char| c.is_ascii_alphabetic())
            .map_or(rest.len(), |at| at + 1);
        let numbers: Vec<f64> = rest[1..end]
            .split_whitespace()
            .map(|number| {
                number
                    .parse()
                    .unwrap_or_else(|_| panic!("{file}: {number} in {data}"))
            })
            .collect();
        match (command, numbers.as_slice()) {
            ('M' | 'L', [x, y]) | ('A', [_, _, _, _, _, x, y]) => points.push((*x, *y)),
            // A dot: a step of no length.
            ('h', [0.0]) | ('Z', []) => {}
            _ => panic!("{file}: {command} {numbers:?} in {data}"),
        }
        rest = &rest[end..];
    }
    points
}

pub(crate) fn room_of(node: Node<'_, '_>, words: &str) -> Room {
    let number = |name: &str| -> f64 { node.attribute(name).expect("a place").parse().expect("a number") };
    let size = number("font-size");
    let bold = node
        .attribute("class")
        .is_some_and(|class| class.contains("strong"));
    let wide = size * words.chars().map(letter_em).sum::<f64>() * if bold { BOLD } else { 1.0 };
    let (x, y) = (number("x"), number("y"));
    if node.has_attribute("transform") {
        return Room {
            left: x - size * 0.75,
            top: y - wide / 2.0,
            right: x + size * 0.2,
            bottom: y + wide / 2.0,
        };
    }
    let left = match node.attribute("text-anchor") {
        None => x,
        Some("middle") => x - wide / 2.0,
        _ => x - wide,
    };
    Room {
        left,
        top: y - size * 0.75,
        right: left + wide,
        bottom: y + size * 0.2,
    }
}
