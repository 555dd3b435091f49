//! The pictures of `docs/gallery.md` are what the tool draws now, and every picture that is kept is whole.
//!
//! `UPDATE=1 cargo test --test gallery` rewrites them.

#[path = "../examples/draw_gallery.rs"]
mod draw_gallery;

use std::collections::{BTreeMap, HashSet};
use std::fs;
use std::path::Path;

use roxmltree::{Document, Node};

#[test]
fn the_pictures_kept_are_what_the_tool_draws_now() {
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs");
    let pictures = draw_gallery::pictures().expect("the gallery's drawings can be planned");
    let mut made: BTreeMap<String, String> = BTreeMap::new();
    made.insert("gallery.md".into(), draw_gallery::page(&pictures));
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
            "docs/{name} is not what the tool draws now: look at the difference, then `UPDATE=1 cargo test --test gallery`"
        );
    }
}

/// Advance width of a letter, em. Source: the `hmtx` table of DejaVu Sans 2.37, the widest of the faces that the sheets
/// name, rounded up to 0.02 em.
fn letter_em(c: char) -> f64 {
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
struct Room {
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

impl Room {
    fn holds(self, other: Self) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && other.right <= self.right
            && other.bottom <= self.bottom
    }

    fn overlaps(self, other: Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}

#[test]
fn the_sheet_of_the_demo_is_whole() {
    let out = Path::new(env!("CARGO_MANIFEST_DIR")).join("out");
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

/// Every coordinate and every text, measured by a rule that does not come from the drawing code, lies on the page; no
/// text is cut short or covers another.
fn whole(file: &str, svg: &str) {
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
        if node.tag_name().name() == "text" {
            let words = node.text().unwrap_or_default().trim().to_owned();
            assert!(!words.ends_with('…'), "{file}: `{words}` is cut short");
            let room = room_of(node, &words);
            assert!(page.holds(room), "{file}: `{words}` runs off the page");
            labels.push((room, words));
        }
    }
    assert!(labels.len() > 10, "{file}: a picture without words");
    for (i, (room, words)) in labels.iter().enumerate() {
        for (other, covered) in &labels[i + 1..] {
            assert!(!room.overlaps(*other), "{file}: `{words}` covers `{covered}`");
        }
    }
}

fn room_of(node: Node<'_, '_>, words: &str) -> Room {
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
