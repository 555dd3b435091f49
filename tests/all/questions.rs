//! The questions that a drawing asks, held against what a toolmaker would ask: `fixtures/questions/expected.tsv`, written down by
//! hand for drawings of the workshop, each with one close to it that must not ask.

use std::collections::{BTreeMap, BTreeSet};
use std::{fmt, fs};

use kerfwright::contour::{Contour, Role, SideFrom};
use kerfwright::finding::Severity;
use kerfwright::id::ContourId;
use kerfwright::job::{JobFile, Purpose, Purposes};
use kerfwright::plan::{Inspection, Planner};
use kerfwright::question::{Question, QuestionCase, QuestionKind};

use crate::common::{book, fixture, fixture_bytes, job_of};

/// A row of the table.
struct Row {
    drawing: String,
    options: String,
    question: String,
    contours: usize,
    first_reading: String,
    sides: String,
}

fn rows() -> Vec<Row> {
    let text = fs::read_to_string(fixture("questions/expected.tsv")).expect("the table is there");
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let heads: Vec<&str> = lines.next().expect("a head").split('\t').collect();
    let at = |name: &str| {
        heads
            .iter()
            .position(|head| *head == name)
            .expect("the column is there")
    };
    let rows = lines.map(|line| {
        let cells: Vec<&str> = line.split('\t').collect();
        let cell = |name: &str| cells[at(name)].to_owned();
        Row {
            drawing: cell("drawing"),
            options: cell("options"),
            question: cell("question"),
            contours: cell("contours").parse().expect("a count"),
            first_reading: cell("first_reading"),
            sides: cell("sides"),
        }
    });
    rows.filter(|row| !row.question.starts_with("proposed:"))
        .collect()
}

pub(crate) fn purpose(word: &str) -> Purpose {
    serde_json::from_value(word.into()).unwrap_or_else(|error| panic!("{word}: {error}"))
}

/// Reads the options of a row.
fn purposes(options: &str) -> Purposes {
    let mut uses = Purposes::default();
    for option in options.split("; ").filter(|option| *option != "-") {
        let (kind, given) = option.split_once(' ').expect("an option and what it gives");
        let named = || {
            given
                .rsplit_once('=')
                .map(|(name, word)| (name.to_lowercase(), purpose(word)))
        };
        match kind {
            "layer" => uses.layers.extend(named()),
            "linetype" => uses.linetypes.extend(named()),
            "color" => uses
                .colors
                .extend(named().map(|(name, purpose)| (name.parse().expect("a colour"), purpose))),
            "cut-layers" => uses.cut_layers.extend(given.split(',').map(str::to_owned)),
            "job" => {
                let text = fs::read_to_string(fixture("questions").join(given)).expect("the job is there");
                uses = JobFile::parse(&text)
                    .expect("a sound job")
                    .uses()
                    .expect("sound uses");
            }
            other => panic!("{other}"),
        }
    }
    uses
}

pub(crate) fn read(drawing: &str, uses: &Purposes) -> Inspection {
    let bytes = fixture_bytes(format!("questions/{drawing}"));
    let read = Planner::new(book()).job(&job_of(uses)).inspect(drawing, &bytes);
    read.unwrap_or_else(|error| panic!("{drawing}: {error}"))
}

fn open(inspection: &Inspection) -> Vec<&Question> {
    inspection.questions.open().collect()
}

/// The name of a kind, as the table has it.
fn kind_word(kind: QuestionKind) -> String {
    let name = format!("{kind:?}");
    let mut word = String::new();
    for letter in name.chars() {
        if letter.is_uppercase() && !word.is_empty() {
            word.push('-');
        }
        word.extend(letter.to_lowercase());
    }
    word
}

/// What a contour comes out as: the side of what is cut, of edges that are not cut as well.
fn side(contour: &Contour) -> &'static str {
    match (contour.purpose.is_edge(), contour.role) {
        (true, Role::Outside) => "part",
        (true, Role::Opening) => "opening",
        _ => "none",
    }
}

/// What a purpose makes of a contour.
fn side_word(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::Part => "part",
        Purpose::Opening => "opening",
        _ => "none",
    }
}

/// The contours that a row of the table is about.
fn concerned(inspection: &Inspection, question: &Question) -> usize {
    let of_case = |case: &QuestionCase| match question.kind {
        // Counted as the table does: one for each arc, and those inside that turn with the side.
        QuestionKind::TappedHole => 1,
        QuestionKind::SideTurned => case.contours.len() + case.inside.len(),
        // The lines of a title block go with its border.
        QuestionKind::FrameOrPart => case
            .contours
            .iter()
            .filter(|id| inspection.contours[**id].polyline.closed)
            .count(),
        _ => case.contours.len(),
    };
    question.cases.iter().map(of_case).sum()
}

/// Whether the closed contours of a drawing come out as the table says: `LAYER@AREA=side`, and none where it does not name them.
fn differing_sides(inspection: &Inspection, expected: &str) -> Vec<String> {
    let expected: BTreeMap<(String, String), &str> = expected
        .split(' ')
        .filter(|entry| *entry != "-")
        .map(|entry| {
            let (contour, side) = entry.rsplit_once('=').expect("a side");
            let (layer, area) = contour.rsplit_once('@').expect("an area");
            ((layer.replace('_', " "), area.to_owned()), side)
        })
        .collect();
    let closed = inspection
        .contours
        .list
        .iter()
        .filter(|contour| contour.polyline.closed);
    let differing = closed.filter_map(|contour| {
        let layer = inspection.layer_of(contour).replace('_', " ");
        let area = format!("{:.4}", contour.area_mm2);
        let right = *expected.get(&(layer.clone(), area.clone()))?;
        (side(contour) != right).then(|| format!("{layer}@{area} is {}, not {right}", side(contour)))
    });
    differing.collect()
}

/// Every reading of every open question, given as the purposes of the contours; the first of each counts up slowest.
fn answered(uses: &Purposes, question: &Question, reading: usize) -> Purposes {
    let mut uses = uses.clone();
    let reading = &question.readings[reading];
    uses.contours.extend(reading.purposes.iter().copied());
    uses.keeps
        .extend(reading.stays.iter().map(|stays| (stays.contour, stays.at)));
    uses
}

#[test]
fn the_workshops_drawings_ask_what_a_toolmaker_would_ask() {
    let rows = rows();
    assert!(rows.len() > 100, "{} rows", rows.len());
    let mut wrong = Vec::new();
    for row in &rows {
        let uses = purposes(&row.options);
        let inspection = read(&row.drawing, &uses);
        let asked: Vec<(String, usize)> = open(&inspection)
            .into_iter()
            .map(|question| (kind_word(question.kind), concerned(&inspection, question)))
            .collect();
        let right = match row.question.as_str() {
            "none" => Vec::new(),
            kind => vec![(kind.to_owned(), row.contours)],
        };
        if asked != right {
            wrong.push(format!(
                "{} | {}: asked {asked:?}, right {right:?}",
                row.drawing, row.options
            ));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} of {}:\n{}",
        wrong.len(),
        rows.len(),
        wrong.join("\n")
    );
}

#[test]
fn where_nothing_is_asked_the_sides_are_right() {
    for row in rows()
        .iter()
        .filter(|row| row.question == "none" && row.sides != "-")
    {
        let differing = differing_sides(&read(&row.drawing, &purposes(&row.options)), &row.sides);
        assert!(
            differing.is_empty(),
            "{} | {}: {differing:?}",
            row.drawing,
            row.options
        );
    }
}

/// A row that asks, with its drawing and its one question.
struct Asking<'a> {
    row: &'a Row,
    uses: Purposes,
    inspection: Inspection,
    question: Question,
}

/// Calls `check` for every row that asks.
fn each_asking(check: impl Fn(&Asking<'_>)) {
    for row in rows().iter().filter(|row| row.question != "none") {
        let uses = purposes(&row.options);
        let inspection = read(&row.drawing, &uses);
        let [question] = open(&inspection)[..] else {
            panic!("{row}");
        };
        let question = question.clone();
        check(&Asking {
            row,
            uses,
            inspection,
            question,
        });
    }
}

impl fmt::Display for Row {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} | {}", self.drawing, self.options)
    }
}

#[test]
fn the_first_reading_is_that_of_the_table() {
    each_asking(|asking| {
        let (row, question) = (asking.row, &asking.question);
        let inside = question.cases.iter().flat_map(|case| &case.inside);
        let inside = inside.map(|&id| side(&asking.inspection.contours[id]));
        let given = &question.readings[0].purposes;
        let first = given.iter().map(|&(_, purpose)| side_word(purpose));
        let first: BTreeSet<&str> = first.chain(inside).collect();
        let mut words = ["part", "opening", "none"].into_iter();
        let right = words.all(|word| !row.first_reading.contains(word) || first.contains(word));
        assert!(right, "{row}: {first:?}, {}", row.first_reading);
    });
}

/// Each answer settles its question; one of them gives the sides that the table calls right.
#[test]
fn an_answer_settles_its_question() {
    each_asking(|asking| {
        let row = asking.row;
        let mut right = row.sides == "-";
        for reading in 0..asking.question.readings.len() {
            let answered = read(&row.drawing, &answered(&asking.uses, &asking.question, reading));
            let left = open(&answered);
            let left: Vec<String> = left.iter().map(|question| kind_word(question.kind)).collect();
            assert!(left.is_empty(), "{row} | reading {reading}: {left:?}");
            right |= differing_sides(&answered, &row.sides).is_empty();
        }
        assert!(right, "{row}: no answer gives {}", row.sides);
    });
}

/// The edges of a drawing with their sides.
fn edges(inspection: &Inspection) -> Vec<(ContourId, Role)> {
    let edges = inspection
        .contours
        .list
        .iter()
        .filter(|contour| contour.bounds_material());
    edges.map(|contour| (contour.id, contour.role)).collect()
}

/// The first answer leaves all as nested; what it makes a trim of is no edge any more.
#[test]
fn the_first_answer_turns_nothing() {
    each_asking(|asking| {
        let answered = read(&asking.row.drawing, &answered(&asking.uses, &asking.question, 0));
        let trims = &asking.question.readings[0].stays;
        let mut before = edges(&asking.inspection);
        before.retain(|(id, _)| trims.iter().all(|trim| trim.contour != *id));
        assert_eq!(edges(&answered), before, "{}", asking.row);
    });
}

#[test]
fn what_is_asked_about_has_no_side() {
    each_asking(|asking| {
        let cases = asking.question.cases.iter();
        for &id in cases.flat_map(|case| case.contours.iter().chain(&case.inside)) {
            let contour = &asking.inspection.contours[id];
            assert_eq!(contour.side_from, SideFrom::Unclear, "{}: {id}", asking.row);
        }
    });
}

/// Taken as ordered, the first reading stands and is told.
#[test]
fn first_readings_are_taken_and_told() {
    each_asking(|asking| {
        let uses = Purposes {
            assume_sides: true,
            ..asking.uses.clone()
        };
        let assumed = read(&asking.row.drawing, &uses);
        assert!(
            open(&assumed).is_empty() && assumed.questions.list.len() == 1,
            "{}",
            asking.row
        );
        let told = |line: &kerfwright::message::Message| line.contains("first reading");
        assert!(assumed.assumptions.iter().any(told), "{:?}", assumed.assumptions);
    });
}

/// A keyway drawn closed across an existing bore, answered: that its cut runs into the bore is meant, and the plan has its price.
#[test]
fn a_cut_across_an_edge_is_meant_once_it_is_given() {
    let job = |answer: &str| {
        let text = format!(
            "material = \"tool-steel\"\nthickness_mm = 20\nfinish = \"Ra 1.6\"\n[layer.HUB]\nuse = \"existing\"\n\
             [layer.BORE]\nuse = \"existing\"\n{answer}"
        );
        JobFile::parse(&text).expect("a sound job")
    };
    let bytes = fixture_bytes("questions/keyway-drawn-closed.dxf");
    let planned = |answer: &str| {
        let plan = Planner::new(book())
            .job(&job(answer))
            .plan("keyway.dxf", &bytes)
            .expect("it can be planned");
        let errors = plan
            .inspection
            .findings
            .iter()
            .filter(|finding| finding.severity == Severity::Error);
        let errors: Vec<&str> = errors.map(|finding| finding.name).collect();
        (errors.join(" "), plan.estimate.costs.is_some())
    };
    assert_eq!(planned(""), ("purpose-unclear".to_owned(), false));
    assert_eq!(planned("[contour.3]\nuse = \"opening\"\n"), (String::new(), true));
}

/// What a hidden recess of 30 × 20 mm would cost if it were cut through by mistake; a circle in an opening costs nothing.
#[test]
fn a_reading_tells_what_is_lost_if_it_is_wrong() {
    let losses = |drawing: &str, options: &str| -> Vec<f64> {
        let inspection = read(drawing, &purposes(options));
        let [question] = open(&inspection)[..] else {
            panic!("{drawing}")
        };
        question
            .readings
            .iter()
            .map(|reading| reading.loss.area_mm2)
            .collect()
    };
    assert_eq!(losses("hidden-recess.dxf", "-"), [0.0, 600.0]);
    assert!(
        losses("small-circle-in-an-opening.dxf", "layer PLATE=existing")
            .iter()
            .all(|mm2| *mm2 == 0.0)
    );
}
