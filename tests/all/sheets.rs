//! Every sheet, of the fixtures and of the drawings that others made, is measured: no text covers another, none is cut short, no letter is
//! too small to be read at the machine, and no label of the plan is missing.
//!
//! `cargo test --test all sheets:: -- --nocapture` prints what was measured.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use kerfwright::job::{JobFile, Purpose};
use kerfwright::pass::PassRequest;
use kerfwright::plan::{Inspection, Plan, Planner};
use kerfwright::report::{Lengths, svg};
use roxmltree::{Document, Node};

use crate::common::{book, drawings_in, file_name, fixture, real_drawings, words_of_picture};
use crate::gallery::{Room, room_of};

/// Height of a capital, as a share of the font size: the sheet's own measure. Of the face that the sheets name first it is 0.729 (DejaVu
/// Sans 2.37, `sCapHeight` of its `OS/2` table 1493 of 2048), so that letters print rather higher.
const CAPITAL: f64 = 0.7;
/// Least height of capitals in print, mm; those of 2.5 mm are what ISO 3098-1 calls the smallest common lettering.
const LEAST_MM: f64 = 1.8;
const LEAST_OF_TITLE_MM: f64 = 2.5;

/// What was measured of a sheet.
struct SheetMeasure {
    texts: usize,
    overlaps: Vec<(String, String)>,
    cut_short: Vec<String>,
    smallest_mm: f64,
    smallest_of_title_mm: f64,
    /// Labels of each kind, those in tables too.
    labels: BTreeMap<String, usize>,
}

fn measured(svg: &str) -> SheetMeasure {
    let document = Document::parse(svg).expect("well-formed XML");
    let texts: Vec<(Room, f64, bool, String)> = document
        .descendants()
        .filter(|node| node.has_tag_name("text"))
        .map(|node| {
            let words = node.text().unwrap_or_default().trim().to_owned();
            let size: f64 = node
                .attribute("font-size")
                .expect("a size")
                .parse()
                .expect("a number");
            (room_of(node, &words), CAPITAL * size, is_of_title(node), words)
        })
        .collect();
    let mut overlaps = Vec::new();
    for (i, (room, .., words)) in texts.iter().enumerate() {
        let covered = texts[i + 1..].iter().filter(|(other, ..)| room.overlaps(*other));
        overlaps.extend(covered.map(|(.., other)| (words.clone(), other.clone())));
    }
    let least = |of_title: bool| {
        let heights = texts.iter().filter(|text| !of_title || text.2).map(|text| text.1);
        heights.fold(f64::INFINITY, f64::min)
    };
    let mut labels = BTreeMap::new();
    for node in document.descendants() {
        if let Some(kind) = node.attribute("data-label") {
            let count = node
                .attribute("data-count")
                .map_or(1, |count| count.parse().expect("a count"));
            *labels.entry(kind.to_owned()).or_insert(0) += count;
        }
    }
    let cut_short = texts.iter().filter(|text| text.3.ends_with('…'));
    SheetMeasure {
        texts: texts.len(),
        cut_short: cut_short.map(|text| text.3.clone()).collect(),
        overlaps,
        smallest_mm: least(false),
        smallest_of_title_mm: least(true),
        labels,
    }
}

/// Whether it belongs to the title block, the offsets, the stops or the cautions.
fn is_of_title(node: Node<'_, '_>) -> bool {
    let ids = ["title-fields", "pass-table", "stops-marked", "cautions"];
    let named = |node: Node<'_, '_>| {
        node.attribute("id")
            .is_some_and(|id| ids.iter().any(|name| id.starts_with(name)))
            || node.attribute("data-label") == Some("offset")
    };
    node.ancestors().any(named)
}

fn fixtures() -> Vec<PathBuf> {
    let folders = ["shapes", "clock", "checks", "questions", "cases", "once-failed"];
    folders
        .iter()
        .flat_map(|folder| drawings_in(&fixture(folder)))
        .collect()
}

fn planned(path: &Path, job: &JobFile) -> Option<Plan> {
    let bytes = std::fs::read(path).expect("a drawing");
    // Some are there because they cannot be read.
    Planner::new(book()).job(job).plan(&file_name(path), bytes).ok()
}

/// How many labels of a kind there must be, counted from the plan.
fn expected(inspection: &Inspection, plan: Option<&Plan>) -> BTreeMap<String, usize> {
    let mut labels = BTreeMap::new();
    let mut add = |kind: &str, count: usize| {
        if count > 0 {
            labels.insert(kind.to_owned(), count);
        }
    };
    let bounds_material = |purpose: Purpose| purpose.is_edge() || purpose == Purpose::Blank;
    let contours = inspection.contours.list.iter();
    add(
        "contour",
        contours
            .filter(|contour| bounds_material(contour.purpose))
            .count(),
    );
    add("finding", inspection.findings.len());
    let Some(plan) = plan else { return labels };
    let offsets = plan.groups.iter().map(|group| group.passes().len()).sum();
    add("offset", offsets);
    let separations = plan.process.separations.iter();
    add(
        "stop",
        separations.filter(|piece| piece.uncut().is_some()).count(),
    );
    add("order", plan.process.starts.list.len());
    labels
}

fn check(what: &str, sheet: &str, inspection: &Inspection, plan: Option<&Plan>) -> SheetMeasure {
    let found = measured(sheet);
    assert!(found.texts > 5, "{what}: a sheet without words");
    assert!(found.overlaps.is_empty(), "{what}: {:?}", found.overlaps);
    // A message may have an ellipsis of its own.
    let is_said = |words: &&String| {
        inspection
            .findings
            .iter()
            .any(|one| one.message.to_string().contains(words.as_str()))
    };
    let cut_short: Vec<&String> = found.cut_short.iter().filter(|words| !is_said(words)).collect();
    assert!(cut_short.is_empty(), "{what}: {cut_short:?}");
    assert!(
        found.smallest_mm >= LEAST_MM,
        "{what}: capitals of {} mm",
        found.smallest_mm
    );
    assert!(
        found.smallest_of_title_mm >= LEAST_OF_TITLE_MM,
        "{what}: capitals of {} mm in the title block",
        found.smallest_of_title_mm
    );
    assert_eq!(found.labels, expected(inspection, plan), "{what}: labels");
    found
}

/// Measures the sheets of some drawings, of the plan and of the inspection, in millimetres and in inches; returns how many.
fn check_all(paths: &[PathBuf]) -> usize {
    let (mut sheets, mut texts, mut labels) = (0, 0, 0);
    let mut smallest = [f64::INFINITY; 2];
    let mut add = |found: &SheetMeasure| {
        sheets += 1;
        texts += found.texts;
        labels += found.labels.values().sum::<usize>();
        smallest = [
            smallest[0].min(found.smallest_mm),
            smallest[1].min(found.smallest_of_title_mm),
        ];
    };
    let job = PassRequest::new("tool-steel", 30.0, 0.25, 4).job();
    for path in paths {
        let name = file_name(path);
        let bytes = std::fs::read(path).expect("a drawing");
        let Ok(inspection) = Planner::new(book()).inspect(&name, bytes) else {
            continue;
        };
        add(&check(
            &name,
            &svg::inspection(&inspection, Lengths::Mm),
            &inspection,
            None,
        ));
        let Some(plan) = planned(path, &job) else { continue };
        for lengths in [Lengths::Mm, Lengths::Inch] {
            add(&check(
                &name,
                &svg::plan(&plan, lengths),
                &plan.inspection,
                Some(&plan),
            ));
        }
    }
    eprintln!(
        "{} drawings, {sheets} sheets, {texts} texts, {labels} labels: no overlap, none cut short, none missing; smallest capitals {:.2} mm, \
         in the title block {:.2} mm",
        paths.len(),
        smallest[0],
        smallest[1]
    );
    sheets
}

#[test]
fn every_sheet_of_a_fixture_can_be_read_and_has_every_label() {
    assert!(check_all(&fixtures()) > 400);
}

#[test]
fn every_sheet_of_a_real_drawing_can_be_read_and_has_every_label() {
    // Each third by default, to keep the tests short; KERFWRIGHT_WHOLE_SWEEP=1 takes all.
    const EVERY: usize = 3;
    let every = if std::env::var_os("KERFWRIGHT_WHOLE_SWEEP").is_some() {
        1
    } else {
        EVERY
    };
    if let Some(paths) = real_drawings() {
        let paths: Vec<PathBuf> = paths.into_iter().step_by(every).collect();
        assert!(check_all(&paths) > paths.len());
    }
}

/// A plate of 120 by 80 mm with five rows of ten holes, each row on a layer of its own.
fn rows_of_holes() -> String {
    let corners = [(0, 0), (120, 0), (120, 80), (0, 80)].map(|(x, y)| format!("10\n{x}\n20\n{y}\n"));
    let holes = (1..=5).flat_map(|row| {
        (0..10).map(move |i| {
            let (x, y) = (10 + 11 * i, 13 * row - 3);
            format!("0\nCIRCLE\n8\nROW{row}\n10\n{x}\n20\n{y}\n40\n2.5\n")
        })
    });
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
         0\nLWPOLYLINE\n8\nCUT\n90\n4\n70\n1\n{}{}0\nENDSEC\n0\nEOF\n",
        corners.concat(),
        holes.collect::<String>()
    )
}

/// Six demand groups, of which the sheet says everything.
fn plan_of_groups() -> Plan {
    let asked = [
        ("0.8", "0.01"),
        ("0.4", "0.005"),
        ("1.6", "0.01"),
        ("0.8", "0.005"),
        ("3.2", "0.03"),
    ];
    let rows = asked.iter().enumerate().map(|(i, (ra, tolerance))| {
        format!(
            "[layer.ROW{}]\nfinish = \"Ra {ra}\"\ntolerance = \"±{tolerance}\"\n",
            i + 1
        )
    });
    let job = format!(
        "material = \"tool-steel\"\nthickness_mm = 20\nfinish = \"Ra 1.6\"\ntolerance = \"±0.02\"\nquantity = 12\n{}",
        rows.collect::<String>()
    );
    let job = JobFile::parse(&job).expect("a sound job");
    let plan = Planner::new(book())
        .job(&job)
        .plan("rows.dxf", rows_of_holes().into_bytes());
    plan.expect("a sound drawing")
}

/// The rows of a table on a sheet, each cell by cell.
fn rows_of(svg: &str, label: &str) -> Vec<Vec<String>> {
    let document = Document::parse(svg).expect("well-formed XML");
    let rows = document
        .descendants()
        .filter(|node| node.attribute("data-label") == Some(label));
    let cells = |row: Node<'_, '_>| {
        let texts = row.descendants().filter(|node| node.has_tag_name("text"));
        texts
            .map(|text| text.text().unwrap_or_default().trim().to_owned())
            .collect()
    };
    rows.map(cells).collect()
}

/// Offset = wire ÷ 2 + spark gap + stock − aim, of every pass of every group, to a tenth of a micrometre, and in inches of 25.4 mm
/// (ISO 31-1; the international inch since 1959).
#[test]
fn every_offset_of_every_group_is_on_the_sheet() {
    let plan = plan_of_groups();
    assert_eq!(plan.groups.len(), 6);
    for (lengths, unit_um, decimals) in [(Lengths::Mm, 1.0, 1), (Lengths::Inch, 25_400.0, 6)] {
        let rows = rows_of(&svg::plan(&plan, lengths), "offset");
        let mut rows = rows.iter();
        for group in &plan.groups {
            for pass in group.passes() {
                let row = rows.next().expect("a row for each pass");
                assert_eq!(row[0], format!("{}.{}", group.group, pass.pass));
                let offset_mm =
                    plan.setup.wire_mm / 2.0 + pass.spark_gap_mm + pass.stock_mm - group.requirement.aim_mm;
                let printed: f64 = row[1].parse().expect("a number");
                let expected = offset_mm * 1000.0 / unit_um;
                assert!(
                    (printed - expected).abs() <= 0.5001 * 10f64.powi(-decimals),
                    "{row:?} is not {expected}"
                );
            }
        }
        assert!(rows.next().is_none(), "a row too many");
    }
}

#[test]
fn the_title_block_says_what_is_cut_of_what_for_whom() {
    let plan = plan_of_groups();
    let words = words_of_picture(&svg::plan(&plan, Lengths::Mm));
    let wire = format!("{} mm", plan.setup.wire_mm);
    for said in [
        "hardened alloy tool steel, 20 mm",
        &wire,
        "12 parts ordered",
        "Ra 0.4 µm, -5 to +5 µm on size",
        "Ra 3.2 µm, -30 to +30 µm on size",
        "Pieces drop: stop, power off, secure them.",
        "scale 1 : 1",
        "sheet 1 of 2",
    ] {
        assert!(words.contains(said), "{said} in {words}");
    }
    let inches = words_of_picture(&svg::plan(&plan, Lengths::Inch));
    for said in ["hardened alloy tool steel, 0.7874 in", "Ra 16 µin", "4.7244 in"] {
        assert!(inches.contains(said), "{said} in {inches}");
    }
    assert!(!inches.contains("µm") && !inches.contains("120 mm"), "{inches}");
}

/// What is said alike of many stops is said once, and every place is told.
#[test]
fn alike_stops_are_written_once() {
    let sheet = svg::plan(
        &planned(
            &fixture("shapes/plate-200-holes.dxf"),
            &PassRequest::new("tool-steel", 10.0, 0.25, 4).job(),
        )
        .expect("a sound fixture"),
        Lengths::Mm,
    );
    let words: Vec<String> = rows_of(&sheet, "stop").concat();
    assert_eq!(words.len(), 2, "{words:?}");
    assert!(
        words.iter().any(|words| words.ends_with(" mm, 200×")),
        "{words:?}"
    );
}
