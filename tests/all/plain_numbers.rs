//! No output holds a zero with a sign, nor a number that is none, whatever the drawing and whatever it is asked.

use kerfwright::job::JobFile;
use kerfwright::plan::Planner;
use kerfwright::report::json::{self, BesideDrawing, Shown};
use kerfwright::report::quote::QuoteRow;
use kerfwright::report::{Coverage, Lengths, csv, dxf, html, svg, terminal};
use rayon::iter::{IntoParallelRefIterator as _, ParallelIterator as _};

use crate::common::{book, drawings_in, file_name, fixture};

/// Wire and passes are given, or chosen; what is asked about is taken as it looks.
const JOBS: [&str; 2] = [
    "material = \"tool-steel\"\nthickness_mm = 30\nwire_mm = 0.25\npasses = 3\nassume_sides = true",
    "material = \"aluminium\"\nthickness_mm = 0.5\nfinish = \"Ra 3\"\nquantity = 1000000\nmargin_mm = 5",
];

/// The first place where a text shows a zero with a sign, NaN or inf, with what stands around it.
pub(crate) fn unsound(text: &str) -> Option<&str> {
    let is_word = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.' | '-');
    let mut from = 0;
    while let Some(found) = text[from..].find(is_word) {
        let at = from + found;
        let length = text[at..].find(|c| !is_word(c)).unwrap_or(text.len() - at);
        let word = &text[at..at + length];
        let number = word.trim_end_matches(|c: char| c == '.' || c.is_alphabetic());
        let digits = number.strip_prefix('-').unwrap_or_default();
        let signed_zero = !digits.is_empty() && digits.chars().all(|c| matches!(c, '0' | '.'));
        let bare = word.trim_start_matches('-');
        // What a drawing holds is quoted.
        let quoted = text[..at].ends_with('`');
        if signed_zero || !quoted && matches!(bare, "NaN" | "nan" | "inf" | "Infinity" | "infinity") {
            let start = text[..at].char_indices().rev().nth(60).map_or(0, |(i, _)| i);
            let end = text[at..]
                .char_indices()
                .nth(40)
                .map_or(text.len(), |(i, _)| at + i);
            return Some(&text[start..end]);
        }
        from = at + length;
    }
    None
}

#[test]
fn the_finder_sees_every_form() {
    for text in [
        "a -0.0,",
        "x=-0",
        "[1, -0.000]",
        "-0 mm",
        "NaN",
        "inf h",
        "(-inf)",
        "-0.00mm",
    ] {
        assert!(unsound(text).is_some(), "{text}");
    }
    for text in [
        "-0.5",
        "0.0 - 0.0",
        "10-0.3",
        "infinite",
        "a-0",
        "2026-01-01",
        "info",
        "-0.01",
        "1e-05",
        "20 -05.1",
        "`nan`",
    ] {
        assert!(unsound(text).is_none(), "{text}");
    }
}

/// Every output of a drawing and a job.
fn outputs(name: &str, bytes: &[u8], job: &JobFile) -> Vec<(&'static str, String)> {
    let mut made = Vec::new();
    if let Ok(inspection) = Planner::new(book()).job(job).inspect(name, bytes) {
        made.extend([
            ("inspection, JSON", json::inspection(&inspection)),
            (
                "inspection, terminal",
                terminal::inspection(&inspection, Coverage::Full, Lengths::Mm),
            ),
            ("inspection, sheet", svg::inspection(&inspection, Lengths::Mm)),
        ]);
    }
    let row = match Planner::new(book()).job(job).plan(name, bytes) {
        Ok(plan) => {
            let alternatives = plan.alternatives().expect("it was planned");
            let shown = Shown::Planned(&plan);
            made.extend([
                ("plan, JSON", json::plan(&plan)),
                ("page", json::page(&shown, Lengths::Mm, BesideDrawing::default())),
                (
                    "rest of the page",
                    json::rest_of_page(&plan, &alternatives, Lengths::Mm, Vec::new()),
                ),
                (
                    "plan, terminal",
                    terminal::plan(&plan, Coverage::Full, Lengths::Mm),
                ),
                ("job sheet", html::plan(&plan, Some(&alternatives))),
                ("sheet", svg::plan(&plan, Lengths::Mm)),
                ("figures, terminal", terminal::figures(&plan)),
            ]);
            if let Ok(paths) = dxf::plan(&plan) {
                made.push(("paths, DXF", String::from_utf8_lossy(&paths).into_owned()));
            }
            QuoteRow::of_plan(name, &plan, String::new())
        }
        Err(error) => QuoteRow::not_planned(name, &error, bytes, job, book(), String::new()),
    };
    if let Ok(comparison) = Planner::new(book()).job(job).compare(name, bytes) {
        made.extend([
            ("comparison, JSON", json::comparison(&comparison)),
            ("comparison, CSV", csv::comparison(&comparison)),
            (
                "comparison, terminal",
                terminal::comparison(&comparison, Lengths::Inch),
            ),
        ]);
    }
    made.extend([("row, JSON", row.json()), ("row, CSV", row.csv(Lengths::Mm))]);
    made
}

/// Of all drawings under `tests/long`, of every twentieth else.
#[test]
fn no_output_holds_a_number_that_is_none() {
    let folders = ["clock", "shapes", "checks", "cases", "questions", "totals"].into_iter();
    let drawings: Vec<_> = folders.flat_map(|folder| drawings_in(&fixture(folder))).collect();
    let step = std::env::var("KERFWRIGHT_ALL_DRAWINGS").map_or(20, |_| 1);
    let taken: Vec<_> = drawings.iter().step_by(step).collect();
    let failed: Vec<String> = taken
        .par_iter()
        .flat_map_iter(|drawing| {
            let (name, bytes) = (file_name(drawing), std::fs::read(drawing).expect("a drawing"));
            JOBS.into_iter().flat_map(move |job| {
                let job = JobFile::parse(job).expect("a sound job");
                let name = name.clone();
                let made = outputs(&name, &bytes, &job).into_iter();
                let found = made
                    .filter_map(move |(output, text)| Some(format!("{name}, {output}: {}", unsound(&text)?)));
                found.collect::<Vec<_>>()
            })
        })
        .collect();
    assert!(taken.len() * step >= 150, "only {} drawings", taken.len());
    assert!(
        failed.is_empty(),
        "{} of them:\n{}",
        failed.len(),
        failed.join("\n")
    );
}
