//! The number of the figures goes with the figures: rows of `quote` that stand in a table are kept while it stays the same.

use std::fmt::Write as _;
use std::hash::Hasher as _;

use fnv::FnvHasher;
use kerfwright::job::JobFile;
use kerfwright::plan::Planner;
use kerfwright::report::json;
use kerfwright::report::quote::{FIGURES, QuoteRow};
use rayon::iter::{IntoParallelRefIterator as _, ParallelIterator as _};
use serde_json::Value;

use crate::common::{book, drawings_in, file_name, fixture};

/// One job is planned as given, of the other the wire and the passes are chosen.
const JOBS: [&str; 2] = [
    "material = \"tool-steel\"\nthickness_mm = 30\nwire_mm = 0.25\npasses = 3\nmargin_mm = 5\nclamp = \"left\"",
    "material = \"tool-steel\"\nthickness_mm = 20\nfinish = \"N7\"\ntolerance = \"±0.02\"\nquantity = 3",
];

/// A number as another mathematical library would print it too: nine digits, and nothing below a millionth of a micrometre.
fn rounded(number: f64) -> String {
    const LEAST: f64 = 1e-9;
    let kept = if number.abs() < LEAST { 0.0 } else { number };
    format!("{kept:.8e}")
}

/// How findings are gathered: numbers that are no figures.
const GATHERED: [&str; 2] = ["finding_groups", "not_listed"];

/// All numbers, each with its place.
fn list(text: &mut String, place: &str, value: &Value) {
    match value {
        Value::Object(fields) => fields
            .iter()
            .filter(|(name, _)| !GATHERED.contains(&name.as_str()))
            .for_each(|(name, value)| list(text, &format!("{place}.{name}"), value)),
        Value::Array(items) => items
            .iter()
            .enumerate()
            .for_each(|(i, value)| list(text, &format!("{place}[{i}]"), value)),
        Value::Number(number) => {
            let _ = writeln!(text, "{place} {}", rounded(number.as_f64().expect("a number")));
        }
        Value::Null | Value::Bool(_) | Value::String(_) => {}
    }
}

#[test]
fn the_number_of_the_figures_is_raised_when_a_figure_changes() {
    let folders = ["clock", "shapes", "checks"];
    let drawings: Vec<_> = folders
        .into_iter()
        .flat_map(|folder| drawings_in(&fixture(folder)))
        .collect();
    let texts: Vec<String> = drawings
        .par_iter()
        .map(|drawing| {
            let (name, bytes) = (file_name(drawing), std::fs::read(drawing).expect("a drawing"));
            let mut text = format!("{name}\n");
            for job in JOBS {
                let job = JobFile::parse(job).expect("a sound job");
                // A drawing that cannot be planned has no figures.
                let row = match Planner::new(book()).job(&job).plan(&name, &bytes) {
                    Ok(plan) => {
                        let plan_text = json::plan(&plan);
                        list(
                            &mut text,
                            "plan",
                            &serde_json::from_str(&plan_text).expect("JSON"),
                        );
                        QuoteRow::of_plan(&name, &plan, String::new())
                    }
                    Err(error) => QuoteRow::not_planned(&name, &error, &bytes, &job, book(), String::new()),
                };
                list(
                    &mut text,
                    "row",
                    &serde_json::from_str(&row.json()).expect("JSON"),
                );
            }
            text
        })
        .collect();
    let figures: usize = texts.iter().map(|text| text.lines().count()).sum();
    assert!(figures > 100_000, "only {figures} figures");
    let mut hasher = FnvHasher::default();
    for text in &texts {
        hasher.write(text.as_bytes());
    }
    let digest = format!("{:016x}", hasher.finish());
    let (number, kept) = FIGURES;
    assert!(
        kept == digest,
        "some figure is not what it was: see which by `tests/compare_runs.py`, then let `FIGURES` in src/report/quote/key.rs \
         be ({}, \"{digest}\"), so that tables of quotes are planned again",
        number + 1
    );
}
