use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};

use roxmltree::{Document, Node};

use super::sheet::Area;
use crate::calibrate::JobOutcome;
use crate::job::JobFile;
use crate::message::Lengths;
use crate::pass::PassRequest;
use crate::plan::{self, Planner};
use crate::report::sample;
use crate::shop::{Book, MinutesHold};
use crate::units::Band;

/// Reads a picture, every line of which has a style, without which it would not be seen, and every text of which lies on its own sheet.
fn parsed(svg: &str) -> Document<'_> {
    let document = Document::parse(svg).expect("well-formed XML");
    let named = |name| {
        document
            .descendants()
            .filter(move |node: &Node<'_, '_>| node.has_tag_name(name))
    };
    let style: String = named("style").filter_map(|node| node.text()).collect();
    for line in named("line") {
        let classes = line.attribute("class").unwrap_or_default();
        let mut classes = classes.split(' ');
        assert!(
            classes.any(|class| style.contains(&format!(".{class}{{"))),
            "{line:?}"
        );
    }
    each_on_its_sheet(&document);
    document
}

/// Checks that a text lies on its sheet, within its frame, and is no number cut short; returns its room and its words.
fn checked_text<'a>(node: Node<'a, '_>, sheet: Area, frames: &[Area]) -> (Area, &'a str) {
    let area = text_area(node);
    assert!(
        sheet.inset(1.0, 1.0, 1.0, 1.0).contains(area),
        "{area:?} of {:?}",
        node.text()
    );
    for frame in frames {
        let begun = frame.contains(area.middle());
        assert!(
            !begun || frame.contains(area),
            "{:?} runs out of its frame {frame:?}",
            node.text()
        );
    }
    let words = node.text().unwrap_or_default().trim();
    let of_inset = node
        .parent()
        .and_then(|parent| parent.attribute("id"))
        .is_some_and(|id| id.starts_with("inset-"));
    assert!(
        !(of_inset && words.ends_with('…')),
        "a number may be cut short: {words}"
    );
    (area, words)
}

/// Reads a sheet and checks what must hold of every sheet.
fn checked(svg: &str) {
    let document = parsed(svg);
    let view_box: Vec<f64> = document
        .root_element()
        .attribute("viewBox")
        .expect("a view box")
        .split(' ')
        .map(|number| number.parse().expect("a number"))
        .collect();
    let sheet = Area::new(view_box[0], view_box[1], view_box[2], view_box[3]);
    let mut ids = HashSet::new();
    let mut texts: Vec<(Area, &str)> = Vec::new();
    let frames: Vec<Area> = document.descendants().filter(is_frame).map(frame).collect();
    for node in document.descendants().filter(Node::is_element) {
        if let Some(id) = node.attribute("id") {
            assert!(ids.insert(id), "id {id} twice");
        }
        let number = |name: &str| {
            node.attribute(name)
                .map(|value| value.parse::<f64>().expect("a number"))
        };
        let inside =
            |x: f64, y: f64| assert!(sheet.contains(Area::new(x, y, 0.0, 0.0)), "{x} {y} of {node:?}");
        match node.tag_name().name() {
            "text" => {
                texts.push(checked_text(node, sheet, &frames));
            }
            "path" => path_points(node.attribute("d").unwrap_or_default()).for_each(|(x, y)| inside(x, y)),
            "line"
                if node
                    .parent()
                    .is_some_and(|parent| parent.has_attribute("transform")) => {}
            "line" => {
                inside(number("x1").unwrap(), number("y1").unwrap());
                inside(number("x2").unwrap(), number("y2").unwrap());
            }
            "rect" => {
                let area = Area::new(
                    number("x").unwrap(),
                    number("y").unwrap(),
                    number("width").unwrap(),
                    number("height").unwrap(),
                );
                assert!(
                    sheet.contains(area) || node.parent().unwrap().has_attribute("transform"),
                    "{area:?}"
                );
            }
            "circle" => inside(number("cx").unwrap(), number("cy").unwrap()),
            _ => {}
        }
    }
    assert!(!texts.is_empty(), "a sheet without a word on it");
    for (i, (a, words)) in texts.iter().enumerate() {
        for (b, other) in &texts[i + 1..] {
            assert!(!a.overlaps(*b), "`{words}` at {a:?} covers `{other}` at {b:?}");
        }
    }
}

/// Returns what is written in a group, its lines as one.
pub(in crate::report) fn written(svg: &str, id: &str) -> String {
    let document = Document::parse(svg).expect("well-formed XML");
    let group = document
        .descendants()
        .find(|node| node.attribute("id") == Some(id));
    let texts = group.expect("the group").descendants();
    let lines = texts
        .filter(|node| node.has_tag_name("text"))
        .filter_map(|node| node.text());
    lines.map(str::trim).collect::<Vec<_>>().join(" ")
}

/// What belongs to a sheet lies on it: each is printed by itself in the job sheet.
fn each_on_its_sheet(document: &Document<'_>) {
    let sheets = document.descendants().filter(|node| {
        let number = node.attribute("id").and_then(|id| id.strip_prefix("sheet-"));
        number.is_some_and(|number| number.parse::<usize>().is_ok())
    });
    for sheet in sheets {
        let paper = sheet
            .descendants()
            .find(|node| node.attribute("class") == Some("paper"));
        let paper = frame(paper.expect("a sheet of paper"));
        for text in sheet.descendants().filter(|node| node.has_tag_name("text")) {
            assert!(
                paper.contains(text_area(text)),
                "{:?} lies on another sheet",
                text.text()
            );
        }
    }
}

/// Whether it is a box round something that texts stand in.
fn is_frame(node: &Node<'_, '_>) -> bool {
    let framed = |class: &str| {
        class
            .split(' ')
            .any(|name| matches!(name, "window" | "edge" | "frame"))
    };
    node.tag_name().name() == "rect" && node.attribute("class").is_some_and(framed)
}

fn frame(node: Node<'_, '_>) -> Area {
    let number = |name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
    Area::new(number("x"), number("y"), number("width"), number("height"))
}

/// Room a text takes, as its letters are usually wide: a tenth narrower than the sheet reckons.
fn text_area(node: Node<'_, '_>) -> Area {
    let number = |name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
    let size = number("font-size");
    let bold = node
        .attribute("class")
        .is_some_and(|class| class.contains("strong"));
    let letters = if bold { super::text::BOLD } else { 1.0 };
    let width = 0.9 * letters * super::text::width(node.text().unwrap_or_default().trim(), size);
    let (x, y) = (number("x"), number("y"));
    if node.has_attribute("transform") {
        return Area::new(x - size * 0.8, y - width / 2.0, size, width);
    }
    let left = match node.attribute("text-anchor") {
        None => x,
        Some("middle") => x - width / 2.0,
        _ => x - width,
    };
    Area::new(left, y - size * 0.75, width, size * 0.9)
}

impl Area {
    /// Its middle, as a rectangle of no size.
    fn middle(self) -> Self {
        let middle = self.center();
        Self::new(middle.x, middle.y, 0.0, 0.0)
    }
}

/// End points of every command of path data.
fn path_points(data: &str) -> impl Iterator<Item = (f64, f64)> {
    data.split_inclusive(|c: char| c.is_ascii_alphabetic())
        .scan('M', |command, part| {
            let numbers: Vec<f64> = part
                .trim_end_matches(|c: char| c.is_ascii_alphabetic())
                .split_whitespace()
                .map(|number| number.parse().expect("a number"))
                .collect();
            let point = match (*command, numbers.as_slice()) {
                ('A', [.., x, y]) | (_, [x, y]) => Some((*x, *y)),
                // A dot is a step of no length.
                (_, []) | ('h', [0.0]) => None,
                (command, other) => panic!("{command} {other:?}"),
            };
            *command = part.chars().last().unwrap_or('Z');
            Some(point)
        })
        .flatten()
}

/// Drawings of the repository below `folder`.
fn drawings(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let entries = fs::read_dir(folder)
        .expect("a folder of fixtures")
        .map(|entry| entry.expect("an entry").path());
    let mut files: Vec<PathBuf> = entries
        .filter(|path| path.extension().is_some_and(|extension| extension == "dxf"))
        .collect();
    files.sort();
    assert!(!files.is_empty());
    files
}

#[test]
fn every_sheet_is_whole() {
    let mut plan = sample::plan();
    checked(&super::plan(&plan, Lengths::Mm));
    plan.inspection.findings = vec![sample::finding(); 60];
    checked(&super::plan(&plan, Lengths::Mm));
    plan.inspection.file =
        "a drawing with a name that nobody can read to its end in one breath <&>.dxf".into();
    checked(&super::plan(&plan, Lengths::Mm));
    checked(&super::inspection(&sample::plate(), Lengths::Mm));
}

#[test]
fn every_fixture_makes_a_whole_sheet() {
    let book = Book::built_in().expect("the built-in book is sound");
    for path in drawings("fixtures/shapes")
        .into_iter()
        .chain(drawings("fixtures/clock"))
    {
        let bytes = fs::read(&path).expect("a fixture");
        let name = path.file_name().expect("a name").to_string_lossy();
        for passes in [1, 4, 8] {
            let ask = PassRequest::new("tool-steel", 30.0, 0.25, passes);
            let plan = Planner::new(&book)
                .job(&ask.job())
                .plan(&name, &bytes)
                .expect("a sound fixture");
            checked(&super::plan(&plan, Lengths::Mm));
        }
    }
}

#[test]
fn every_finding_of_a_fixture_is_marked_on_a_whole_sheet() {
    let book = Book::built_in().expect("the built-in book is sound");
    for path in drawings("fixtures/checks") {
        let bytes = fs::read(&path).expect("a fixture");
        // Some fire by being unreadable.
        let Ok(inspection) = Planner::new(&book).inspect("check.dxf", &bytes) else {
            continue;
        };
        checked(&super::inspection(&inspection, Lengths::Mm));
    }
}

/// A plate with `across` × `across` round holes of diameter 4, 10 apart, all measures times `scale`.
fn plate_of_holes(across: usize, scale: f64) -> String {
    let at = |i: usize| (10.0 * (i + 1) as f64) * scale;
    let circle = |i: usize| {
        let (x, y) = (at(i % across), at(i / across));
        format!("0\nCIRCLE\n8\nCUT\n10\n{x}\n20\n{y}\n40\n{}\n", 2.0 * scale)
    };
    let holes: String = (0..across * across).map(circle).collect();
    let side = at(across);
    let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
    let corners: Vec<String> = corners
        .iter()
        .map(|(x, y)| format!("10\n{x}\n20\n{y}\n"))
        .collect();
    let corners = corners.concat();
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n\
         0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n8\nCUT\n70\n1\n{corners}{holes}0\nENDSEC\n0\nEOF\n"
    )
}

fn planned(drawing: &str, wire_mm: f64, passes: usize) -> plan::Plan {
    let book = Book::built_in().expect("the built-in book is sound");
    let ask = PassRequest::new("tool-steel", 10.0, wire_mm, passes);
    let plan = Planner::new(&book)
        .job(&ask.job())
        .plan("holes.dxf", drawing.as_bytes());
    plan.expect("a sound drawing")
}

#[test]
fn a_part_of_3_mm_and_a_plate_of_1_m_make_whole_sheets() {
    for (scale, wire_mm) in [(0.1, 0.1), (0.5, 0.1), (10.0, 0.25), (33.3333, 0.25)] {
        let plan = planned(&plate_of_holes(2, scale), wire_mm, 4);
        assert!(plan.toolpaths.loops.len() >= 4, "at scale {scale}");
        checked(&super::plan(&plan, Lengths::Mm));
    }
}

/// An open line beside corners that the wire does not reach and a tab: the longest legend that there is.
#[test]
fn the_longest_legend_keeps_to_its_frame() {
    let corners = "10\n10\n20\n8\n10\n30\n20\n8\n10\n30\n20\n14\n10\n10\n20\n14\n";
    let opening = format!("0\nLWPOLYLINE\n8\nCUT\n70\n1\n{corners}");
    let open = "0\nLINE\n8\nCUT\n10\n50\n20\n0\n11\n60\n21\n10\n";
    let plan = planned(&sample::drawing(&format!("{opening}{open}")), 0.25, 4);
    let sheet = super::plan(&plan, Lengths::Mm);
    for name in ["open", "not reached", "tab: stop", "start hole, lead"] {
        assert!(sheet.contains(&format!("\n{name}\n")), "{name}");
    }
    checked(&sheet);
}

/// A slot of 2 µm, which the wire cannot enter, is seen beside the wire; of a slot of 3 mm the bar is in millimetres.
#[test]
fn the_bar_of_an_inset_names_a_length_that_can_be_read() {
    let slot = |width: f64| {
        let (left, right) = (20.0 - width / 2.0, 20.0 + width / 2.0);
        let mut corners = vec![(5.0, 5.0), (35.0, 5.0), (35.0, 9.0), (right, 9.0), (right, 15.0)];
        corners.extend([(35.0, 15.0), (35.0, 18.0), (5.0, 18.0), (5.0, 15.0), (left, 15.0)]);
        corners.extend([(left, 9.0), (5.0, 9.0)]);
        let corners: Vec<String> = corners
            .iter()
            .map(|(x, y)| format!("10\n{x}\n20\n{y}\n"))
            .collect();
        let drawing = sample::drawing(&format!("0\nLWPOLYLINE\n8\nCUT\n70\n1\n{}", corners.concat()));
        super::plan(&planned(&drawing, 0.25, 4), Lengths::Mm)
    };
    for (width, bar) in [(0.002, "200 µm"), (3.0, "1 mm")] {
        let sheet = slot(width);
        checked(&sheet);
        let document = Document::parse(&sheet).expect("well-formed XML");
        let words = |node: Node<'_, '_>| -> Vec<String> {
            let texts = node.descendants().filter(|node| node.has_tag_name("text"));
            texts
                .map(|node| node.text().unwrap_or_default().trim().to_owned())
                .collect()
        };
        let id = |node: &Node<'_, '_>, ends: &str| {
            let id = node.attribute("id").unwrap_or_default();
            id.starts_with("inset-") && id.ends_with(ends)
        };
        let of_slot = |node: &Node<'_, '_>| words(*node).iter().any(|text| text.contains("slot of contour"));
        let inset = document.descendants().find(|node| id(node, "") && of_slot(node));
        let inset = inset.expect("the slot is magnified");
        let found = inset
            .descendants()
            .find(|node| id(node, "-scale-bar"))
            .expect("a bar");
        assert_eq!(words(found), [bar], "{width}");
    }
}

#[test]
fn a_sheet_of_ten_thousand_contours_stays_small_and_says_what_it_leaves_out() {
    const MOST_BYTES: usize = 4_000_000;
    let plan = planned(&plate_of_holes(100, 1.0), 0.25, 4);
    assert_eq!(plan.inspection.contours.list.len(), 10_001);
    let sheet = super::plan(&plan, Lengths::Mm);
    checked(&sheet);
    assert!(sheet.len() < MOST_BYTES, "{} bytes", sheet.len());
    assert!(sheet.contains("10000 × opening Ø 4 mm"));
    assert!(written(&sheet, "title-fields").contains("only the first and the last are drawn"));
    assert!(
        !sheet.contains("wire-centre-group-1-pass-2"),
        "pass 2 is left out"
    );
}

#[test]
fn the_charts_are_whole_too() {
    let book = Book::built_in().expect("the built-in book is sound");
    for (demand, drawing) in [
        ("±0.01", sample::drawing("")),
        ("±0.002", plate_of_holes(2, 1.0)),
        ("js6", plate_of_holes(3, 4.0)),
    ] {
        let job = JobFile::new("tool-steel", 30.0)
            .finish("Ra 0.8")
            .tolerance(demand);
        let planner = Planner::new(&book).job(&job);
        let plan = planner
            .plan("plate.dxf", drawing.as_bytes())
            .expect("a sound drawing");
        checked(&super::trade_off(&plan, &plan.candidates).expect("something was weighed"));
        for group in &plan.groups {
            checked(&super::accuracy_budget(group).expect("no path is missing"));
        }
        let compared = planner.compare("plate.dxf", drawing.as_bytes());
        checked(&super::comparison(&compared.expect("a sound drawing")));
    }
    assert!(
        super::trade_off(&sample::plan(), &[]).is_none(),
        "nothing was weighed"
    );
    let job = JobOutcome {
        line: 2,
        material: "tool-steel".into(),
        wire_mm: 0.25,
        wire_kind: "brass".into(),
        machine: None,
        minutes_hold: MinutesHold::Cutting,
        real_min: 100.0,
        expected_min: Band {
            low: 80.0,
            expected: 95.0,
            high: 120.0,
        },
        is_wild: false,
    };
    checked(&super::finished_jobs(&[job]).expect("there is a job"));
}

#[test]
fn same_input_same_bytes() {
    assert_eq!(
        super::plan(&sample::plan(), Lengths::Mm),
        super::plan(&sample::plan(), Lengths::Mm)
    );
}
