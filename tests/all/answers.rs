//! What the drawing leaves open, and how it is answered: in JSON, in a job file, on the terminal, in a table.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use kerfwright::id::ContourId;
use kerfwright::job::{JobFile, JobPart, Purpose};
use kerfwright::plan::{Inspection, Planner};
use kerfwright::report;
use kerfwright::shop::Book;
use serde_json::Value;

use crate::common::words_of_picture;

const FOLDER: &str = "fixtures/questions";

fn kerfwright(arguments: &[&str]) -> Output {
    let run = Command::new(env!("CARGO_BIN_EXE_kerfwright"))
        .args(arguments)
        .output();
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
            "job" => {
                return JobFile::parse(
                    &fs::read_to_string(Path::new(FOLDER).join(rest)).expect("a job file"),
                )
                .expect("a job");
            }
            "layer" => {
                let (name, word) = named();
                job = job.layer(name, JobPart::new().purpose(purpose(word)));
            }
            "linetype" => job = job.linetype(named().0, purpose(named().1)),
            "color" => job = job.color(named().0.parse().expect("a number"), purpose(named().1)),
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
    Planner::new(&book)
        .job(job)
        .inspect(drawing, &bytes)
        .unwrap_or_else(|error| panic!("{drawing}: {error}"))
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
        rows(
            "contours",
            &[
                "id",
                "role",
                "use",
                "purpose",
                "kept_side",
                "side_from",
                "depth",
                "parent",
            ],
        ),
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
        assert_eq!(
            read_as(&read),
            read_as(&inspected(&drawing, &again)),
            "{drawing}:\n{text}"
        );
        if read.questions.list.is_empty() {
            continue;
        }
        asking += 1;
        let answers = first_readings(&text);
        let answered =
            JobFile::parse(&answers).unwrap_or_else(|error| panic!("{drawing}: {error}\n{answers}"));
        let settled = inspected(&drawing, &answered);
        let open: Vec<_> = settled.questions.open().map(|question| question.kind).collect();
        assert!(open.is_empty(), "{drawing} ({question}): {open:?}\n{answers}");
        // The answer is the first reading: sides stay as they were nested, but for those of trims, which are no edges.
        let is_trim = |id: ContourId| settled.contours[id].purpose == Purpose::Trim;
        let roles = |inspection: &Inspection| -> Vec<_> {
            let list = inspection.contours.list.iter().filter(|c| !is_trim(c.id));
            list.map(|c| (c.id, c.role)).collect()
        };
        assert_eq!(roles(&read), roles(&settled), "{drawing}");
    }
    assert!(asking > 30, "{asking}");
}

/// The file as the command writes it: relative to where it stands, never over another, run by `plan` once it is answered.
#[test]
fn the_job_written_by_inspect_is_run_by_plan() {
    let room = tempfile::tempdir().expect("a folder");
    let jobs = room.path().join("jobs");
    fs::create_dir(&jobs).expect("a folder");
    fs::copy(
        "fixtures/questions/tapped-holes.dxf",
        room.path().join("tapped.dxf"),
    )
    .expect("a copy");
    let (drawing, file) = (room.path().join("tapped.dxf"), jobs.join("tapped.toml"));
    let write = || {
        kerfwright(&[
            "inspect",
            drawing.to_str().expect("a path"),
            "--write-job",
            file.to_str().expect("a path"),
        ])
    };
    let output = write();
    assert_eq!(output.status.code(), Some(1), "{}", text(&output.stderr));
    let written = fs::read_to_string(&file).expect("a job file");
    assert!(written.contains("drawing = \"../tapped.dxf\""), "{written}");
    let again = write();
    assert_eq!(again.status.code(), Some(2));
    assert!(
        text(&again.stderr).contains("is there already"),
        "{}",
        text(&again.stderr)
    );
    assert_eq!(fs::read_to_string(&file).expect("a job file"), written);
    let plan = || {
        let output = kerfwright(&[
            "plan",
            file.to_str().expect("a path"),
            "--material",
            "tool-steel",
            "--thickness",
            "20",
            "--wire",
            "0.25",
            "--passes",
            "2",
            "--json",
        ]);
        assert!(
            output.status.code().is_some_and(|code| code < 2),
            "{}",
            text(&output.stderr)
        );
        json(&output)
    };
    let open = plan();
    assert_eq!(open["questions"].as_array().map(Vec::len), Some(1));
    assert!(open["estimate"]["cost"].is_null());
    fs::write(&file, first_readings(&written)).expect("the answers are written");
    let answered = plan();
    assert_eq!(answered["questions"], Value::Array(Vec::new()));
    let purposes = answered["contours"].as_array().expect("contours").iter();
    let purposes: Vec<_> = purposes.map(|c| c["purpose"].as_str().expect("a word")).collect();
    assert_eq!(
        purposes.iter().filter(|word| **word == "thread").count(),
        4,
        "{purposes:?}"
    );
    // The rectangle with its roundings and four holes of 6.8 mm, two passes of each.
    assert_eq!(answered["paths"].as_array().map(Vec::len), Some(10));
    assert!(answered["estimate"]["total_minutes"].is_object());

    let from_input = kerfwright(&[
        "inspect",
        "-",
        "--write-job",
        jobs.join("none.toml").to_str().expect("a path"),
    ]);
    assert_eq!(from_input.status.code(), Some(2));
}

/// Words and values of the JSON for one drawing of each origin of a side.
#[test]
fn json_tells_purposes_sides_and_questions() {
    let inspect = |arguments: &[&str]| {
        let output = kerfwright(&[&["inspect"], arguments, &["--json"]].concat());
        assert!(
            output.status.code().is_some_and(|code| code < 2),
            "{}",
            text(&output.stderr)
        );
        json(&output)
    };
    let contour = |document: &Value, id: usize| {
        let row = &document["contours"][id - 1];
        let word = |field: &str| row[field].as_str().unwrap_or("null").to_owned();
        ["use", "purpose", "purpose_from", "kept_side", "side_from"].map(word)
    };
    let counterbores = "fixtures/questions/counterbores-one-layer.dxf";
    let open = inspect(&[counterbores]);
    assert_eq!(contour(&open, 1), ["cut", "cut", "assumed", "inside", "drawn"]);
    assert_eq!(contour(&open, 2), ["cut", "cut", "assumed", "null", "unclear"]);
    let question = &open["questions"][0];
    assert_eq!(
        (&question["kind"], &question["assumed"]),
        (&"counterbore".into(), &false.into())
    );
    assert_eq!(question["cases"].as_array().map(Vec::len), Some(4));
    let reading = &question["readings"][0];
    assert_eq!(reading["options"], "--contour 6-9=part --contour 2-5=opening");
    assert_eq!(reading["job_file"][0], "[contour.2]");
    assert_eq!(reading["purposes"].as_array().map(Vec::len), Some(8));
    // Four holes of Ø14 and four of Ø8.5; a ring between them would drop.
    let near =
        |value: &Value, closed_form: f64| (value.as_f64().expect("a number") - closed_form).abs() < 1e-6;
    let pi = std::f64::consts::PI;
    assert!(
        near(&reading["cut_length_mm"], 4.0 * pi * (14.0 + 8.5)),
        "{reading}"
    );
    assert!(
        near(
            &reading["kept_loss"]["area_mm2"],
            pi * (14.0_f64.powi(2) - 8.5_f64.powi(2))
        ),
        "{reading}"
    );
    assert!(
        near(&reading["kept_loss"]["depth_mm"], (14.0 - 8.5) / 2.0),
        "{reading}"
    );

    let assumed = inspect(&[counterbores, "--assume-sides"]);
    assert_eq!(
        contour(&assumed, 2),
        ["cut", "cut", "assumed", "outside", "assumed"]
    );
    assert_eq!(assumed["questions"][0]["assumed"], true);
    let given = inspect(&[
        counterbores,
        "--contour",
        "2-5=opening",
        "--contour",
        "6-9=reference",
    ]);
    assert_eq!(
        contour(&given, 2),
        ["cut", "opening", "contour", "outside", "given"]
    );
    assert_eq!(
        contour(&given, 6),
        ["reference", "reference", "contour", "null", "null"]
    );
    assert_eq!(given["questions"], Value::Array(Vec::new()));
    let left = inspect(&["fixtures/questions/window-in-a-plate.dxf", "--cut-layers", "HAND"]);
    assert_eq!(
        contour(&left, 1),
        ["existing", "not-now", "cut-layers", "inside", "drawn"]
    );
    let ignored = inspect(&[
        "fixtures/questions/window-in-a-plate.dxf",
        "--layer",
        "PLATE=reference",
    ]);
    assert_eq!(ignored["questions"][0]["cases"][0]["around"]["layer"], "PLATE");
}

/// A row that waits for an answer has no time and no cost, and is in no sum; answered, it has both.
#[test]
fn a_quote_waits_for_answers() {
    let room = tempfile::tempdir().expect("a folder");
    let table = room.path().join("quote.csv");
    let quote = |more: &[&str]| {
        let drawings = [
            "fixtures/questions/counterbores-one-layer.dxf",
            "fixtures/questions/window-in-a-plate.dxf",
        ];
        let job = [
            "--material",
            "tool-steel",
            "--thickness",
            "20",
            "--wire",
            "0.25",
            "--passes",
            "2",
            "--in-order",
        ];
        let out = ["--out", table.to_str().expect("a path")];
        kerfwright(&[&["quote"], &drawings[..], &job[..], &out[..], more].concat())
    };
    let rows = || {
        let mut reader = csv::Reader::from_path(&table).expect("a table");
        let names = reader.headers().expect("names").clone();
        let row = |record: csv::StringRecord| {
            names
                .iter()
                .map(str::to_owned)
                .zip(record.iter().map(str::to_owned))
                .collect()
        };
        let rows: Vec<std::collections::BTreeMap<String, String>> = reader
            .records()
            .map(|record| row(record.expect("a row")))
            .collect();
        rows
    };
    let waiting = quote(&[]);
    assert_eq!(waiting.status.code(), Some(1), "{}", text(&waiting.stderr));
    let said = text(&waiting.stderr);
    assert!(
        said.contains("1 planned")
            && said.contains("1 to be settled")
            && said.contains("1 piece on the machine"),
        "{said}"
    );
    let first = &rows()[0];
    assert_eq!(first["status"], "to-be-settled");
    assert!(
        first["reason"].contains("Ø14/Ø8.5 mm") && first["reason"].ends_with('?'),
        "{first:?}"
    );
    for column in [
        "minutes",
        "minutes_low",
        "minutes_high",
        "cost_fixed",
        "cost_each",
        "cost_each_low",
        "cost_each_high",
        "cost_piece",
        "pass_area_mm2",
    ] {
        assert_eq!(first[column], "", "{column}");
    }
    assert_eq!(rows()[1]["status"], "planned");
    // Read again, the row that waits is kept as the others are.
    let again = quote(&[]);
    assert_eq!(again.status.code(), Some(1));
    assert!(
        text(&again.stderr).contains("2 rows stood in the table already"),
        "{}",
        text(&again.stderr)
    );
    let answered = quote(&["--assume-sides"]);
    assert_eq!(rows()[0]["status"], "planned", "{}", text(&answered.stderr));
    assert!(!rows()[0]["cost_each"].is_empty());
}

/// What is read stands first, and each question once.
#[test]
fn the_terminal_shows_the_reading_and_the_questions() {
    let drawing = "fixtures/questions/counterbores-one-layer.dxf";
    let inspected = text(&kerfwright(&["inspect", drawing]).stdout);
    let lines: Vec<&str> = inspected.lines().collect();
    assert!(
        lines[0].contains("9 contours") && lines[0].ends_with("1 question"),
        "{}",
        lines[0]
    );
    assert_eq!(lines[2], "  sides: 1 drawn, 8 open");
    let row = lines[..12]
        .iter()
        .map(|line| line.split_whitespace().collect::<Vec<_>>());
    let rows: Vec<Vec<&str>> = row.filter(|cells| cells.first() == Some(&"PLATE")).collect();
    assert_eq!(
        rows,
        [
            vec!["PLATE", "8", "Ø8.5", "Ø14", "cut", "assumed", "–", "open"],
            vec![
                "PLATE", "1", "100", "×", "60", "cut", "assumed", "inside", "drawn"
            ],
        ]
    );
    // Told once: not as a finding again.
    assert_eq!(
        inspected.matches("counterbored, or cut through").count(),
        1,
        "{inspected}"
    );
    assert!(
        inspected.contains("error  purpose-unclear, 1 question"),
        "{inspected}"
    );
    let inches = text(&kerfwright(&["inspect", drawing, "--display-unit", "inch"]).stdout);
    assert!(
        inches.contains("4 × Ø0.5512/Ø0.3346 in (contours 2-9)"),
        "{inches}"
    );
}

/// Once, and without words of the command line.
#[test]
fn sheets_say_where_sides_come_from() {
    let drawing = "fixtures/questions/counterbores-one-layer.dxf";
    let room = tempfile::tempdir().expect("a folder");
    let plan = |more: &[&str]| {
        let job = [
            "--material",
            "tool-steel",
            "--thickness",
            "20",
            "--wire",
            "0.25",
            "--passes",
            "2",
        ];
        let out = ["--out", room.path().to_str().expect("a path")];
        let output = kerfwright(&[&["plan", drawing], &job[..], &out[..], more].concat());
        assert!(
            output.status.code().is_some_and(|code| code < 2),
            "{}",
            text(&output.stderr)
        );
        let file = |ending: &str| {
            fs::read_to_string(room.path().join(format!("counterbores-one-layer.{ending}"))).expect("a file")
        };
        (text(&output.stdout), file("svg"), file("html"))
    };
    let sources = "1 drawn, 8 assumed; first reading taken of 1 question";
    let (terminal, sheet, job_sheet) = plan(&["--assume-sides"]);
    let head: Vec<&str> = terminal.lines().take(12).collect();
    assert!(
        head[1].contains("look first: sides or purposes assumed"),
        "{terminal}"
    );
    assert!(head[2].ends_with(&format!("sides: {sources}")), "{terminal}");
    assert_eq!(words_of_picture(&sheet).matches(sources).count(), 1);
    // In its head and its requirements; the drawing sheet that it holds has it in lines of its own.
    assert_eq!(job_sheet.matches(sources).count(), 2);
    let (terminal, sheet, job_sheet) = plan(&[]);
    assert!(terminal.contains("sides: 1 drawn, 8 open"), "{terminal}");
    for sheet in [words_of_picture(&sheet), job_sheet] {
        assert!(
            sheet.contains("1 drawn, 8 open") && sheet.contains("counterbored, or cut through"),
            "{sheet}"
        );
        assert!(
            !sheet.contains("--contour 2") && !sheet.contains("--assume-sides"),
            "{sheet}"
        );
    }
}

/// A question about what is not cut as read: what is cut has its paths, but there is no total while it is open.
#[test]
fn an_open_question_leaves_no_total() {
    let plan = |more: &[&str]| {
        let job = [
            "--material",
            "tool-steel",
            "--thickness",
            "20",
            "--wire",
            "0.25",
            "--passes",
            "2",
            "--json",
        ];
        let output =
            kerfwright(&[&["plan", "fixtures/questions/hidden-recess.dxf"], &job[..], more].concat());
        (output.status.code(), json(&output))
    };
    let (code, open) = plan(&[]);
    assert_eq!((code, open["paths"].as_array().map(Vec::len)), (Some(1), Some(4)));
    assert_eq!(open["estimate"]["no_totals"], "1 question is open");
    for figure in ["cut_minutes", "total_minutes", "cost", "price"] {
        assert!(open["estimate"][figure].is_null(), "{figure}");
    }
    for answer in [
        &["--contour", "2=reference"][..],
        &["--assume-sides"],
        &["--linetype", "HIDDEN=reference"],
    ] {
        let (code, settled) = plan(answer);
        assert_eq!(code, Some(0), "{answer:?}");
        assert!(
            settled["estimate"]["cost"].is_object() && settled["estimate"]["no_totals"].is_null(),
            "{answer:?}"
        );
    }
}

/// More lines than anybody names one by one: where they are all of a layer, and nothing else is on it, the layer is given.
#[test]
fn many_contours_of_one_layer_are_answered_by_the_layer() {
    let line = |i: usize| {
        format!(
            "0\nLINE\n8\nLAYER 7\n10\n{x}\n20\n-9\n11\n{x}\n21\n-5\n",
            x = 2 * i
        )
    };
    let plate =
        "0\nLWPOLYLINE\n8\nPLATE\n70\n1\n10\n0\n20\n0\n10\n80\n20\n0\n10\n80\n20\n40\n10\n0\n20\n40\n";
    let answers = |lines: usize, also: &str| {
        let lines: String = (0..lines).map(line).collect();
        let text = format!("0\nSECTION\n2\nENTITIES\n{plate}{lines}{also}0\nENDSEC\n0\nEOF\n");
        let book = Book::built_in().expect("the built-in book is sound");
        let read = |job: &JobFile| {
            Planner::new(&book)
                .job(job)
                .inspect("marks.dxf", text.as_bytes())
                .expect("a sound drawing")
        };
        let inspection = read(&JobFile::default());
        let document: Value = serde_json::from_str(&report::json::inspection(&inspection)).expect("JSON");
        let reading = &document["questions"][0]["readings"][0];
        let job = reading["job_file"].as_array().expect("lines").iter();
        let job: Vec<&str> = job.map(|line| line.as_str().expect("a line")).collect();
        let answered = JobFile::parse(&job.join("\n")).expect("a job file");
        assert!(read(&answered).questions.list.is_empty(), "{job:?}");
        (
            reading["options"].as_str().expect("options").to_owned(),
            reading["layer"].clone(),
        )
    };
    assert_eq!(
        answers(24, ""),
        ("--contour 2-25=reference".to_owned(), Value::Null)
    );
    let by_layer = ("--layer 'LAYER 7=reference'".to_owned(), Value::from("LAYER 7"));
    assert_eq!(answers(30, ""), by_layer);
    // A hole on the same layer is not one of them.
    let hole = "0\nCIRCLE\n8\nLAYER 7\n10\n20\n20\n20\n40\n5\n";
    assert_eq!(
        answers(30, hole),
        ("--contour 2-31=reference".to_owned(), Value::Null)
    );
}
