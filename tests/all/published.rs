//! What was published about wire EDM, held against what the tool computes with its built-in book: `fixtures/published-cases.tsv`
//! names condition, source and whether it lies inside the band of the model, the cases outside too. The table of the guide is
//! made from both; `UPDATE=1 cargo test --test all published` writes it anew.

use std::fs;

use kerfwright::pass::{PassRequest, Schedule, schedule, surface};
use kerfwright::shop::{Book, Figure, Term};
use kerfwright::units::Band;

use crate::common::{fixture_bytes, root};

const BEGIN: &str = "<!-- published cases: made by tests/all/published.rs -->\n";
const END: &str = "<!-- end of published cases -->\n";

/// A row of the table.
struct Case {
    cells: Vec<String>,
}

impl Case {
    fn text(&self, column: &str) -> &str {
        let columns = "condition source basis material thickness_mm wire_mm wire_kind passes nozzles ra_from_um ra_to_um figure \
                       low high verdict";
        let at = columns.split(' ').position(|name| name == column);
        &self.cells[at.unwrap_or_else(|| panic!("no column {column}"))]
    }

    fn number(&self, column: &str) -> Option<f64> {
        self.text(column).parse().ok()
    }

    fn given(&self, column: &str) -> f64 {
        self.number(column)
            .unwrap_or_else(|| panic!("{}: {column}", self.text("condition")))
    }

    fn schedule(&self, book: &Book) -> Schedule {
        let request = PassRequest {
            wire_kind: Some(self.text("wire_kind").to_owned()),
            nozzles: self.text("nozzles").parse().expect("a word for the nozzles"),
            ..PassRequest::new(
                self.text("material"),
                self.given("thickness_mm"),
                self.given("wire_mm"),
                self.given("passes") as usize,
            )
        };
        schedule(book, &request).unwrap_or_else(|error| panic!("{}: {error}", self.text("condition")))
    }

    /// The band that the tool gives for it, and its unit.
    fn model(&self, book: &Book) -> (Band, &'static str) {
        let schedule = || self.schedule(book);
        match self.text("figure") {
            "rough-rate" => (schedule().passes[0].area_rate_mm2_min, "mm²/min"),
            "whole-rate" => (together(&schedule(), 0), "mm²/min"),
            "skims-rate" => (together(&schedule(), 1), "mm²/min"),
            "feed" => (schedule().passes[0].feed_mm_min, "mm/min"),
            "ra" => (schedule().passes[0].ra_um, "µm"),
            "form-error" => (schedule().passes[0].form_error_um, "µm"),
            "recast" => {
                let schedule = schedule();
                let last = schedule.traces.last().expect("a pass");
                (surface(book, &last.ra).recast_um.value, "µm")
            }
            "recast-at-ra" => {
                let (low, high) = (self.given("ra_from_um"), self.given("ra_to_um"));
                let ra = Band {
                    low,
                    expected: f64::midpoint(low, high),
                    high,
                };
                let term = Term::given("Ra", ra.expected, "µm", "as published");
                (
                    surface(book, &Figure::new("Ra", ra, "µm", "Ra", vec![term]))
                        .recast_um
                        .value,
                    "µm",
                )
            }
            "run-off" => (book.wire.run_speed_m_min.band, "m/min"),
            other => panic!("no figure {other}"),
        }
    }

    /// Where what was published lies against the band.
    fn verdict(&self, band: Band) -> &'static str {
        let low = self.given("low");
        let high = self.number("high").unwrap_or(low);
        if low < band.low {
            "below"
        } else if high > band.high {
            "above"
        } else {
            "inside"
        }
    }
}

/// One area after the other in all passes from `first` on, from 0: the rates join like resistors side by side.
fn together(schedule: &Schedule, first: usize) -> Band {
    let end = |of: fn(&Band) -> f64| {
        let passes = schedule.passes[first..].iter();
        let sum: f64 = passes.map(|pass| of(&pass.area_rate_mm2_min).recip()).sum();
        sum.recip()
    };
    Band {
        low: end(|band| band.low),
        expected: end(|band| band.expected),
        high: end(|band| band.high),
    }
}

fn cases() -> Vec<Case> {
    let text = String::from_utf8(fixture_bytes("published-cases.tsv")).expect("a text");
    let rows = text.lines().skip(1);
    rows.map(|row| Case {
        cells: row.split('\t').map(str::to_owned).collect(),
    })
    .collect()
}

/// The built-in book, with a wire that textbooks use.
fn book() -> Book {
    let own = "[wire-size.\"0.125\"]\nthickest_mm = 60\n[wire-kind.brass]\nsizes_mm = [0.10, 0.125, 0.15, 0.20, 0.25, 0.30]\n";
    Book::layered(own).expect("sound")
}

/// Three digits, as many as such a band bears.
fn rounded(value: f64) -> String {
    let places = (2.0 - value.abs().log10().floor()).clamp(0.0, 2.0) as usize;
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

fn row(case: &Case, book: &Book) -> String {
    let (band, unit) = case.model(book);
    let made = match case.text("figure") {
        "run-off" | "recast-at-ra" => String::new(),
        _ => format!(
            ", {} mm thick, {} mm {} wire, {} {}",
            case.text("thickness_mm"),
            case.text("wire_mm"),
            case.text("wire_kind"),
            case.text("passes"),
            if case.text("passes") == "1" {
                "pass"
            } else {
                "passes"
            }
        ),
    };
    let published = match (case.text("low"), case.text("high")) {
        (low, "") => format!("over {low}"),
        (low, high) if low == high => low.to_owned(),
        (low, high) => format!("{low} to {high}"),
    };
    let verdict = case.verdict(band);
    format!(
        "| {}{made} | {} (`{}`) | {published} {unit} | {} ({} to {}) | {} |\n",
        case.text("condition"),
        case.text("source"),
        case.text("basis"),
        rounded(band.expected),
        rounded(band.low),
        rounded(band.high),
        if verdict == "inside" {
            verdict.to_owned()
        } else {
            format!("**{verdict}**")
        }
    )
}

#[test]
fn published_cases_lie_inside_or_outside_of_the_bands_as_the_file_says() {
    let book = book();
    let cases = cases();
    assert!(cases.len() >= 15);
    for case in &cases {
        let (band, unit) = case.model(&book);
        assert_eq!(
            case.verdict(band),
            case.text("verdict"),
            "{}: {band:?} {unit}",
            case.text("condition")
        );
    }
    let outside = cases
        .iter()
        .filter(|case| case.text("verdict") != "inside")
        .count();
    assert!(outside > 0, "a table without cases outside was chosen");
}

#[test]
fn the_table_of_the_guide_is_that_of_the_tool() {
    let book = book();
    let head = "| case | source | published | model | published value |\n|---|---|--:|--:|---|\n";
    let rows: String = cases().iter().map(|case| row(case, &book)).collect();
    let path = root().join("docs/guide.md");
    let guide = fs::read_to_string(&path).expect("the guide");
    let (before, rest) = guide.split_once(BEGIN).expect("the table has a place");
    let (table, after) = rest.split_once(END).expect("the table ends");
    let made = format!("{head}{rows}");
    if std::env::var_os("UPDATE").is_some() {
        fs::write(&path, format!("{before}{BEGIN}{made}{END}{after}")).expect("the guide can be written");
        return;
    }
    assert!(
        table == made,
        "the table is stale: run the tests once with UPDATE=1\n{made}"
    );
}
