//! The side that each contour keeps stays the same, or is asked for, whatever is given of the rest of the drawing.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use kerfwright::contour::{self, Contour, Contours, Role, SideFrom};
use kerfwright::drawing::{Drawing, from_document};
use kerfwright::dxf;
use kerfwright::id::ContourId;
use kerfwright::job::{Purpose, Purposes, Reading};
use kerfwright::plan::{Inspection, Planner};
use kerfwright::question;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed, TestRunner};

use crate::common::{book, drawings_in, file_name, fixture, job_of, real_folder, root};

/// What leaves a closed curve an edge, and what does not.
const EDGES: [Purpose; 3] = [Purpose::Cut, Purpose::Existing, Purpose::NotNow];
const NO_EDGES: [Purpose; 4] = [
    Purpose::Ignore,
    Purpose::Reference,
    Purpose::Frame,
    Purpose::Blank,
];

/// A drawing with the purposes that it is told in full with.
struct Sheet {
    name: String,
    bytes: Vec<u8>,
    drawing: Drawing,
    layers: Vec<String>,
    /// The sides with nothing given.
    plain: BTreeMap<usize, (Role, bool)>,
}

impl Sheet {
    fn read(path: &Path) -> Self {
        let bytes = fs::read(path).expect("the drawing is there");
        let mut sheet = Self {
            name: file_name(path),
            drawing: from_document(&dxf::read(&bytes).expect("a drawing"), &Reading::default())
                .expect("a drawing"),
            bytes,
            layers: Vec::new(),
            plain: BTreeMap::new(),
        };
        sheet.plain = sides(&sheet.contours(&Purposes::default()));
        let drawn = sheet.inspect(&Purposes::default());
        let mut layers: Vec<String> = drawn
            .contours
            .list
            .iter()
            .map(|c| drawn.layer_of(c).to_owned())
            .collect();
        layers.sort();
        layers.dedup();
        sheet.layers = layers;
        sheet
    }

    /// Reads it as far as its questions.
    fn contours(&self, uses: &Purposes) -> Contours {
        let mut contours = contour::chain(&self.drawing, &Reading::default(), uses);
        question::find(&self.drawing, &mut contours, uses, &book().rules);
        contours
    }

    fn inspect(&self, uses: &Purposes) -> Inspection {
        let read = Planner::new(book())
            .job(&job_of(uses))
            .inspect(&self.name, &self.bytes);
        read.unwrap_or_else(|error| panic!("{}: {error}", self.name))
    }
}

/// The drawings of the workshop, and those of the kinds that turn sides: a gear with its pitch circle, a part in a blank, segments in a
/// ring, a plate with counterbores.
fn sheets() -> Vec<Sheet> {
    let mut paths = drawings_in(&fixture("clock"));
    let more = [
        "wheel-with-pitch-circle",
        "wheel-in-a-blank",
        "segments-in-a-ring",
        "counterbores-by-layer",
    ];
    paths.extend(more.map(|name| fixture(format!("questions/{name}.dxf"))));
    paths.iter().map(|path| Sheet::read(path)).collect()
}

/// The side of each loop to be cut, by its curves, since numbers change where curves are left out; as nested, and whether it is asked for.
fn sides(contours: &Contours) -> BTreeMap<usize, (Role, bool)> {
    let cut = contours
        .list
        .iter()
        .filter(|c| c.purpose == Purpose::Cut && c.polyline.closed);
    let side = |c: &Contour| (c.role, c.side_from == SideFrom::Unclear);
    cut.map(|c| (c.curves[0], side(c))).collect()
}

/// Lists what is wrong with the sides when something is given: another side without a question; or, where only edges are given,
/// another side as the first reading.
fn wrong(sheet: &Sheet, uses: &Purposes, only_edges: bool) -> Vec<String> {
    let plain = &sheet.plain;
    let given = sides(&sheet.contours(uses));
    let differing = given.iter().filter_map(|(curve, &(role, asked))| {
        let &(right, asked_before) = plain.get(curve)?;
        let same = role == right;
        // What the drawing leaves open anyway is asked for, or settled by what is given.
        let excused = if only_edges {
            asked && same
        } else {
            asked || asked_before
        };
        (!same && !excused).then(|| {
            format!(
                "{}: curve {curve} is {role:?}, not {right:?}; {uses:?}",
                sheet.name
            )
        })
    });
    differing.collect()
}

#[test]
fn no_purpose_of_another_layer_turns_a_side_in_silence() {
    let mut tried = 0;
    let mut found = Vec::new();
    for sheet in sheets() {
        for cut in &sheet.layers {
            let others: Vec<&String> = sheet.layers.iter().filter(|layer| *layer != cut).collect();
            // All assignments that leave the others edges, and all in which one of them is none.
            let none_of_them = std::iter::once(None);
            let one_of_them = (0..others.len()).flat_map(|i| NO_EDGES.map(|purpose| Some((i, purpose))));
            for no_edge in none_of_them.chain(one_of_them) {
                for mut code in 0..EDGES.len().pow(u32::try_from(others.len()).expect("few layers")) {
                    let mut uses = Purposes::default();
                    for (i, layer) in others.iter().enumerate() {
                        let edge = EDGES[code % EDGES.len()];
                        code /= EDGES.len();
                        let purpose = no_edge
                            .filter(|(at, _)| *at == i)
                            .map_or(edge, |(_, purpose)| purpose);
                        uses.layers.insert(layer.to_lowercase(), purpose);
                    }
                    found.extend(wrong(&sheet, &uses, no_edge.is_none()));
                    tried += 1;
                }
            }
            let only = Purposes {
                cut_layers: vec![cut.clone()],
                ..Purposes::default()
            };
            found.extend(wrong(&sheet, &only, true));
        }
    }
    assert!(tried > 1000, "{tried} tried");
    assert!(
        found.is_empty(),
        "{} of {tried}: {}",
        found.len(),
        found[..found.len().min(10)].join("\n")
    );
}

/// The purposes given to contours by number.
fn of_contours(given: &[(ContourId, Purpose)]) -> (Purposes, bool) {
    let uses = Purposes {
        contours: given.iter().copied().collect(),
        ..Purposes::default()
    };
    (uses, given.iter().all(|(_, purpose)| purpose.is_edge()))
}

#[test]
fn no_purpose_of_another_contour_turns_a_side_in_silence() {
    let all: Vec<Purpose> = EDGES.into_iter().chain(NO_EDGES).collect();
    let mut tried = 0;
    let mut found = Vec::new();
    let sheets = sheets();
    for sheet in &sheets {
        let ids: Vec<ContourId> = sheet
            .contours(&Purposes::default())
            .list
            .iter()
            .map(|c| c.id)
            .collect();
        let few: Vec<ContourId> = ids.iter().copied().take(8).collect();
        for (i, &a) in few.iter().enumerate() {
            for &b in &few[i..] {
                for (&of_a, &of_b) in all
                    .iter()
                    .flat_map(|of_a| all.iter().map(move |of_b| (of_a, of_b)))
                {
                    let (uses, only_edges) = of_contours(&[(a, of_a), (b, of_b)]);
                    found.extend(wrong(sheet, &uses, only_edges));
                    tried += 1;
                }
            }
        }
    }
    // And seeded assignments to all of them.
    let config = Config {
        cases: 2000,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_261_128),
        ..Config::default()
    };
    let mut runner = TestRunner::new(config);
    let choice = (0..sheets.len(), prop::collection::vec(0..=all.len(), 64));
    let ran = runner.run(&choice, |(sheet, ways)| {
        let sheet = &sheets[sheet];
        let list = sheet.contours(&Purposes::default()).list;
        let given = list
            .iter()
            .zip(ways)
            .filter_map(|(c, way)| Some((c.id, *all.get(way)?)));
        let (uses, only_edges) = of_contours(&given.collect::<Vec<_>>());
        let found = wrong(sheet, &uses, only_edges);
        prop_assert!(found.is_empty(), "{}", found.join("\n"));
        Ok(())
    });
    assert!(tried > 1000, "{tried} tried");
    assert!(
        found.is_empty(),
        "{} of {tried}: {}",
        found.len(),
        found[..found.len().min(10)].join("\n")
    );
    assert!(ran.is_ok(), "{ran:?}");
}

/// In a plate with counterbores the four purposes that bound nothing, given for the outer circles, make the bore an opening without a
/// question; the others ask.
#[test]
fn a_counterbore_that_bounds_nothing_leaves_the_bore_an_opening() {
    let sheet = Sheet::read(&fixture("questions/counterbores-by-layer.dxf"));
    for purpose in EDGES.into_iter().chain(NO_EDGES) {
        let uses = Purposes {
            layers: [("sinks".to_owned(), purpose)].into(),
            ..Purposes::default()
        };
        let read = sheet.inspect(&uses);
        let mut bores = read
            .contours
            .list
            .iter()
            .filter(|c| read.layer_of(c) == "SCREWS")
            .peekable();
        assert!(bores.peek().is_some());
        for bore in bores {
            let asked = bore.side_from == SideFrom::Unclear;
            assert_eq!(asked, purpose.is_edge(), "{purpose:?}");
            assert!(asked || bore.role == Role::Opening, "{purpose:?}");
        }
    }
}

/// The sides of 30 drawings from public repositories, written down by hand before the code that finds them
/// (`fixtures/real-sides.tsv`): none comes out wrong without a question or an error about that contour.
#[test]
fn no_side_of_a_real_drawing_is_wrong_without_a_question() {
    let Some(folder) = real_folder() else { return };
    let text = fs::read_to_string(root().join("fixtures/real-sides.tsv")).expect("the table is there");
    let rows = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    let rows: Vec<Vec<&str>> = rows.map(|line| line.split('\t').collect()).collect();
    let files: std::collections::BTreeSet<&str> = rows.iter().map(|row| row[0]).collect();
    assert_eq!(files.len(), 30);
    let (mut compared, mut asked, mut wrong) = (0, 0, Vec::new());
    for file in files {
        let sheet = Sheet::read(&folder.join(file));
        let read = sheet.inspect(&Purposes::default());
        // A drawing with an error is not planned: what is wrong in it is not silent.
        let errors = read
            .findings
            .iter()
            .filter(|f| f.severity == kerfwright::finding::Severity::Error)
            .count();
        for row in rows.iter().filter(|row| row[0] == file) {
            let [_, layer, area, x, y, right, ..] = row[..] else {
                panic!("{row:?}")
            };
            let number = |text: &str| text.parse::<f64>().expect("a number");
            let (area_mm2, x_mm, y_mm) = (number(area), number(x), number(y));
            let is_it = |c: &&Contour| {
                let at = c.bounds.center();
                read.layer_of(c) == layer
                    && (c.area_mm2 - area_mm2).abs() <= 1e-4 + 1e-6 * area_mm2
                    && (at.x - x_mm).abs() <= 2e-3
                    && (at.y - y_mm).abs() <= 2e-3
                    && c.polyline.closed
            };
            let contour = read.contours.list.iter().find(is_it);
            let contour = contour.unwrap_or_else(|| panic!("{file}: {layer} {area}"));
            compared += 1;
            let is = match (contour.purpose, contour.role) {
                (Purpose::Cut, Role::Outside) => "part",
                (Purpose::Cut, Role::Opening) => "opening",
                _ => "none",
            };
            if contour.side_from == SideFrom::Unclear || read.questions.open().count() > 0 {
                asked += 1;
            } else if is != right && right != "either" && errors == 0 {
                wrong.push(format!(
                    "{file}: contour {} ({layer}, {area}) is {is}, not {right}",
                    contour.id
                ));
            }
        }
    }
    eprintln!(
        "{compared} contours compared, {asked} in drawings that ask, {} wrong",
        wrong.len()
    );
    assert!(
        wrong.is_empty(),
        "{} of {compared}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}
