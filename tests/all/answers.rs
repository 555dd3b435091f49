//! What the drawing leaves open, and how it is answered: in JSON, in a job file, on the terminal, in a table.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use kerfwright::job::{JobFile, JobPart, JobPurpose, Purpose};
use kerfwright::plan::{self, Inspection};
use kerfwright::report;
use kerfwright::shop::Book;
use serde_json::Value;

const FOLDER: &str = "fixtures/questions";

fn kerfwright(arguments: &[&str]) -> Output {
    let run = Command::new(env!("CARGO_BIN_EXE_kerfwright")).args(arguments).output();
    run.expect("the command starts")
}

fn text(output: &[u8]) -> String {
    String::from_utf8_lossy(output).into_owned()
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {}", text(&output.stderr)))
}

fn purpose(word: &str) -> Purpose {
    serde_json::from_value(word.into()).expect("a purpose")
}

/// The job that a row of the table gives.
fn job(options: &str) -> JobFile {
    let mut job = JobFile::default();
    for option in options.split("; ").filter(|option| *option != "-") {
        let (kind, rest) = option.split_once(' ').expect("kind and value");
        let named = || rest.split_once('=').expect("NAME=purpose");
        match kind {
            "job" => return JobFile::parse(&fs::read_to_string(Path::new(FOLDER).join(rest)).expect("a job file")).expect("a job"),
            "layer" => {
                let part = JobPart {
                    purpose: Some(purpose(named().1)),
                    ..JobPart::default()
                };
                job.layers.insert(named().0.to_owned(), part);
            }
            "linetype" | "color" => {
                let rule = JobPurpose {
                    purpose: purpose(named().1),
                };
                let rules = if kind == "color" { &mut job.colors } else { &mut job.linetypes };
                rules.insert(named().0.to_owned(), rule);
            }
            "cut-layers" => job.cut_layers = rest.split(',').map(str::to_owned).collect(),
            other => panic!("{other}"),
        }
    }
    job
}

/// Drawing, job and expected question of each row of the table.
fn cases() -> Vec<(String, JobFile, String)> {
    let table = fs::read_to_string(Path::new(FOLDER).join("expected.tsv")).expect("the table");
    let rows = table.lines().filter(|line| !line.starts_with('#')).skip(1);
    let cases = rows.map(|row| {
        let cells: Vec<&str> = row.split('\t').collect();
        (cells[0].to_owned(), job(cells[1]), cells[2].to_owned())
    });
    cases.collect()
}

fn inspected(drawing: &str, job: &JobFile) -> Inspection {
    let bytes = fs::read(Path::new(FOLDER).join(drawing)).expect("a drawing");
    let book = Book::built_in().expect("the built-in book is sound");
    plan::inspect_job(drawing, &bytes, job, &book).unwrap_or_else(|error| panic!("{drawing}: {error}"))
}

/// What is compared of a reading: of each contour purpose and sides, of each question all but its words.
fn read_as(inspection: &Inspection) -> (Vec<Value>, Vec<Value>) {
    let document: Value = serde_json::from_str(&report::json::inspection(inspection)).expect("JSON");
    let rows = |key: &str, fields: &[&str]| {
        let rows = document[key].as_array().expect("a list").iter();
        let rows = rows.map(|row| fields.iter().map(|field| row[field].clone()).collect::<Value>());
        rows.collect()
    };
    (
        rows("contours", &["id", "role", "use", "purpose", "kept_side", "side_from", "depth", "parent"]),
        rows("questions", &["kind", "assumed", "cases", "readings"]),
    )
}

/// Takes the lines of the first reading of each question out of their comment.
fn first_readings(text: &str) -> String {
    let mut answered = String::new();
    let mut readings = None;
    for line in text.lines() {
        if line.starts_with("## Question ") {
            readings = Some(0);
        } else if let Some(number) = readings.as_mut().filter(|_| line.starts_with("## - ")) {
            *number += 1;
        }
        let taken = readings == Some(1) && line.starts_with("# ");
        answered.push_str(if taken { &line[2..] } else { line });
        answered.push('\n');
    }
    answered
}

/// Every reading is written down and read again as it was; with the first reading of each question taken out of its comment nothing is
/// left open.
#[test]
fn a_reading_written_as_a_job_is_read_again_and_answered() {
    let mut asking = 0;
    for (drawing, job, question) in cases() {
        let read = inspected(&drawing, &job);
        let text = report::reading_job(&read, &job, &drawing).expect("a job file");
        let again = JobFile::parse(&text).unwrap_or_else(|error| panic!("{drawing}: {error}\n{text}"));
        assert_eq!(again.drawing.as_deref(), Some(drawing.as_str()));
        assert_eq!(read_as(&read), read_as(&inspected(&drawing, &again)), "{drawing}:\n{text}");
        if read.questions.list.is_empty() {
            continue;
        }
        asking += 1;
        let answers = first_readings(&text);
        let answered = JobFile::parse(&answers).unwrap_or_else(|error| panic!("{drawing}: {error}\n{answers}"));
        let settled = inspected(&drawing, &answered);
        let open: Vec<_> = settled.questions.open().map(|question| question.kind).collect();
        assert!(open.is_empty(), "{drawing} ({question}): {open:?}\n{answers}");
        // The answer is the first reading: sides stay as they were nested.
        let roles = |inspection: &Inspection| -> Vec<_> { inspection.contours.list.iter().map(|c| (c.id, c.role)).collect() };
        assert_eq!(roles(&read), roles(&settled), "{drawing}");
    }
    assert!(asking > 30, "{asking}");
}
