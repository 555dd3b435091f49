//! No total and no price while anything that is to be cut has no path, or while the job is beyond the machine: of every way in,
//! in every output, which says why. What cannot be cut as a whole has no start, no lead, no place in the order and no time; the
//! rest keeps its own.

use std::collections::BTreeSet;

use kerfwright::job::JobFile;
use kerfwright::plan::{Alternatives, Plan, Planner};
use kerfwright::report::json::{BesideDrawing, Shown};
use kerfwright::report::quote::{QuoteRow, Sums, columns};
use kerfwright::report::{self, Coverage, Lengths, csv, dxf, html, svg, terminal};
use serde_json::Value;

use crate::common::{
    assert_close, book, fixture_bytes, json, number, rows, run, stderr, stdout, words_of_picture,
};

/// Wire and passes are given; they are given with an order, which goes the way of requirements; both are chosen.
const WAYS: [(&str, &str); 3] = [
    ("given", "wire_mm = 0.25\npasses = 4"),
    ("given with an order", "wire_mm = 0.25\npasses = 4\nquantity = 5"),
    ("required", "finish = \"Ra 0.8\"\ntolerance = \"±0.02\""),
];

fn job(asked: &str) -> JobFile {
    let text = format!("material = \"tool-steel\"\nthickness_mm = 60\n{asked}");
    JobFile::parse(&text).expect("a sound job")
}

fn planned(drawing: &str, asked: &str) -> Plan {
    let bytes = fixture_bytes(drawing);
    Planner::new(book())
        .job(&job(asked))
        .plan(drawing, &bytes)
        .unwrap_or_else(|error| panic!("{drawing}: {error}"))
}

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).expect("JSON")
}

/// The figures of a whole order, as JSON names them.
const TOTALS: [&str; 17] = [
    "cut_minutes",
    "time_terms",
    "setup_minutes",
    "machine_minutes",
    "attended_minutes",
    "total_minutes",
    "unattended_hours",
    "shifts",
    "wire_m",
    "wire_kg",
    "spools",
    "currency",
    "cost",
    "cost_fixed",
    "cost_each",
    "price",
    "ledger",
];

/// A plan without totals: of what, what wgiven, why there are none, and whether areas are known all the same, since only the
/// machine is too small.
struct Withheld<'a> {
    what: &'a str,
    plan: &'a Plan,
    why: &'a str,
    areas: bool,
}

/// Every output of a plan is without totals and says `why`.
fn assert_no_totals(what: &str, plan: &Plan, why: &str, areas: bool) {
    let withheld = Withheld {
        what,
        plan,
        why,
        areas,
    };
    let alternatives = plan.alternatives().expect("it was planned");
    let shown = Shown::Planned(plan);
    withheld.in_json("JSON", &parsed(&report::json::plan(plan)));
    withheld.in_json(
        "the page",
        &parsed(&report::json::page(&shown, Lengths::Mm, BesideDrawing::default())),
    );
    withheld.at_the_terminal();
    withheld.on_sheets(&alternatives);
    withheld.in_a_row();
    // The paths can be written all the same.
    dxf::plan(plan).unwrap_or_else(|error| panic!("{what}: {error}"));
}

impl Withheld<'_> {
    fn said(&self, output: &str, text: &str) {
        let Self { what, why, .. } = self;
        assert!(text.contains(why), "{what}: {output} does not say why: {text}");
    }

    fn in_json(&self, output: &str, value: &Value) {
        let Self { what, why, areas, .. } = self;
        let estimate = &value["estimate"];
        for key in TOTALS {
            assert!(
                estimate[key].is_null(),
                "{what}: {output} has a {key}: {}",
                estimate[key]
            );
        }
        for key in ["rough_area_mm2", "pass_area_mm2"] {
            assert_eq!(estimate[key].is_null(), !areas, "{what}: {output}, {key}");
        }
        self.said(output, estimate["no_totals"].as_str().unwrap_or_default());
        assert!(value["accuracy"].is_null(), "{what}: heat goes with the hours");
        let of_whole = [
            "cutting minutes",
            "machine time",
            "total time",
            "cost of the order",
            "price of the order",
        ];
        for figure in rows(value, "figures") {
            let name = figure["name"].as_str().expect("a name");
            assert!(
                !of_whole.contains(&name),
                "{what}: {output} has the figure {name}"
            );
        }
        let listed = value["candidates"].as_array().into_iter().flatten();
        let beside = value["planned"]["side_by_side"].as_array().into_iter().flatten();
        let lacks = |row: &Value| row["chosen"] == true || row["reasons"].to_string().contains(why);
        for candidate in listed.chain(beside).filter(|row| lacks(row)) {
            assert!(
                candidate["minutes"].is_null() && candidate["cost"].is_null(),
                "{what}: {output} weighs by a total: {candidate}"
            );
        }
    }

    fn at_the_terminal(&self) {
        let what = self.what;
        let text = terminal::plan(self.plan, Coverage::Full, Lengths::Mm);
        self.said("the terminal", &text);
        for total in [
            "price of the order",
            "cost of the order",
            "cost breakdown of the order",
            "time of one piece",
            "\n  total  ",
        ] {
            assert!(
                !text.contains(total),
                "{what}: the terminal has `{total}`:\n{text}"
            );
        }
        let numbers = terminal::figures(self.plan);
        assert!(!numbers.contains("price of the order"), "{what}: {numbers}");
        self.said("the explanation of the numbers", &numbers);
    }

    /// The job sheet, and the drawing sheet.
    fn on_sheets(&self, alternatives: &Alternatives) {
        let what = self.what;
        let sheet = html::plan(self.plan, Some(alternatives));
        self.said("the job sheet", &sheet);
        for total in ["Ledger of the order", "Time of one piece", "Working day"] {
            assert!(!sheet.contains(total), "{what}: the job sheet has `{total}`");
        }
        assert!(alternatives.day.is_none(), "{what}: a day without a duration");
        let block = words_of_picture(&svg::plan(self.plan, Lengths::Mm));
        let in_short = if self.areas {
            "none: beyond the machine"
        } else {
            self.why
        };
        assert!(
            block.contains(in_short),
            "{what}: the title block does not say why"
        );
        assert!(
            !block.contains("; order of "),
            "{what}: the title block has a time"
        );
    }

    /// A row of a quote, as CSV and JSON, and the sum of a table.
    fn in_a_row(&self) {
        let Self { what, areas, .. } = self;
        let row = QuoteRow::of_plan("part.dxf", self.plan, "k".into());
        self.said("the row", &row.reason);
        let value = parsed(&row.json());
        assert_eq!(value["status"], "refused", "{what}");
        let table = columns(Lengths::Mm) + &row.csv(Lengths::Mm);
        let mut reader = ::csv::Reader::from_reader(table.as_bytes());
        let names = reader.headers().expect("names").clone();
        let cells = reader.records().next().expect("a row").expect("cells");
        for (name, cell) in names.iter().zip(&cells) {
            let mut totals = ["minutes", "cost", "currency"].iter();
            let total = totals.any(|start| name.starts_with(start));
            assert!(!total || cell.is_empty(), "{what}: the row has {name} {cell}");
            if name.ends_with("area_mm2") {
                assert_eq!(cell.is_empty(), !areas, "{what}: {name} {cell}");
            }
        }
        let mut sums = Sums::default();
        sums.add(&row);
        assert_eq!((sums.refused, sums.pieces, sums.cost), (1, 0, [0.0; 3]), "{what}");
    }
}

/// What is left out of the order is nowhere in it; the rest is.
fn assert_left_out(what: &str, plan: &Plan, left_out: &[usize], cut: &[usize]) {
    let value = parsed(&report::json::plan(plan));
    for list in ["paths", "starts", "leads", "sequence", "separations"] {
        let of = |row: &Value| number(&row["contour"]) as usize;
        let found: BTreeSet<usize> = rows(&value, list).iter().map(of).collect();
        assert_eq!(found, cut.iter().copied().collect(), "{what}: {list}");
    }
    let listed = rows(&value, "left_out").iter();
    let listed: Vec<usize> = listed.map(|row| number(&row["contour"]) as usize).collect();
    assert_eq!(listed, left_out, "{what}");
    for row in rows(&value, "passes") {
        for sum in ["path_length_mm", "cut_area_mm2", "minutes", "minutes_band"] {
            assert!(
                row[sum].is_null(),
                "{what}: {sum} of pass {} is a sum that lacks a contour",
                row["pass"]
            );
        }
    }
}

#[test]
fn a_contour_without_a_path_leaves_no_total_on_any_way_in() {
    for (way, asked) in WAYS {
        for (drawing, why, left_out, cut) in [
            ("bridge-open-line", "contour 3 is open", &[3][..], &[1, 2][..]),
            (
                "bridge-windows-cross",
                "contours 3 and 4 pass through each other",
                &[3, 4],
                &[1, 2],
            ),
        ] {
            let what = format!("{drawing}, {way}");
            let plan = planned(&format!("totals/{drawing}.dxf"), asked);
            assert_no_totals(&what, &plan, why, false);
            assert_left_out(&what, &plan, left_out, cut);
        }
    }
}

/// The slot of 0.35 mm takes the skims (2 × 0.152) and not the rough cut (2 × 0.197); so does the pocket behind its neck.
#[test]
fn a_contour_that_only_the_skims_enter_is_left_out_of_the_order() {
    let asked = WAYS[0].1;
    let plan = planned("totals/bridge-narrow-slot.dxf", asked);
    assert_no_totals(
        "slot",
        &plan,
        "contour 3 has no room for the wire in pass 1",
        false,
    );
    assert_left_out("slot", &plan, &[3], &[1, 2]);
    let plan = planned("totals/bridge-closed-pocket.dxf", asked);
    let why = "contour 2 has no path in pass 1";
    assert_no_totals("pocket", &plan, why, false);
    assert_left_out("pocket", &plan, &[2], &[1]);
    let findings = plan.inspection.findings.iter();
    let mut refused = findings.filter(|finding| finding.name == "path-refused");
    let at = refused.next().and_then(|finding| finding.at).expect("a place");
    assert!((21.0..=21.35).contains(&at.x), "{at:?}");
    // So it is where the wire is given and a requirement too.
    let plan = planned("totals/bridge-narrow-slot.dxf", WAYS[1].1);
    assert_no_totals(
        "slot",
        &plan,
        "contour 3 has no room for the wire in pass 1",
        false,
    );
    let mut reasons = plan.candidates[0].reasons.iter();
    assert!(reasons.any(|why| why.to_string().contains("a slot of 0.350 mm")));
}

/// The order of what can be cut is that of the same drawing without what cannot, and so is its clock.
#[test]
fn what_can_be_cut_keeps_its_order_and_its_clock() {
    for (way, asked) in WAYS {
        let alone = planned("totals/bridge.dxf", asked);
        let steps = alone.sequence();
        assert!(steps.len() > 10 && alone.estimate.costs.is_some(), "{way}");
        for drawing in ["open-line", "windows-cross", "narrow-slot"] {
            let bytes = format!("totals/bridge-{drawing}.dxf");
            // With the wire left open a thin one is taken, which has room in the slot.
            if drawing == "narrow-slot" && way != "given" {
                continue;
            }
            let beside = planned(&bytes, asked).sequence();
            assert_eq!(beside.len(), steps.len(), "{way}, {drawing}");
            for (beside, step) in beside.iter().zip(&steps) {
                let what = format!("{way}, {drawing}, {:?}", step.kind);
                assert_eq!(
                    (beside.contour, beside.pass, beside.kind),
                    (step.contour, step.pass, step.kind),
                    "{what}"
                );
                assert_close(&what, beside.clock_minutes, step.clock_minutes, 1e-9);
                assert_close(&what, beside.takes_minutes(), step.takes_minutes(), 1e-9);
            }
        }
    }
}

/// A slot that the last pass does not enter is to be cut and has no path.
#[test]
fn a_slot_that_stays_uncut_leaves_no_total() {
    let asked = WAYS[0].1;
    let plan = planned("totals/bridge-narrow-arm.dxf", asked);
    assert!(plan.toolpaths.refusals.is_empty() && !plan.process.operations.is_empty());
    assert_no_totals(
        "slot",
        &plan,
        "the wire does not enter a slot of contour 2",
        false,
    );
}

/// The travel along x is 600 mm, the height 300 mm, the table takes 500 kg, the wire is 0.1 mm at least.
#[test]
fn limits_hold_on_every_way_in() {
    let (long, short) = (
        "checks/beyond-machine-fires.dxf",
        "checks/beyond-machine-clean.dxf",
    );
    for (way, asked) in WAYS {
        let plan = planned(long, asked);
        let found: Vec<_> = plan
            .inspection
            .findings
            .iter()
            .filter(|f| f.name == "beyond-machine")
            .collect();
        assert_eq!(found.len(), 1, "{way}");
        assert!(
            found[0].message.contains("machine typical travels 600 mm"),
            "{}",
            found[0].message
        );
        let measured = found[0].measured.expect("what is wanted").value;
        let offset_mm = plan
            .groups
            .iter()
            .map(|group| group.passes()[0].offset_mm)
            .fold(0.0, f64::max);
        // The wire runs round the bar, and its lead comes in from farther out.
        assert!(measured >= 620.0 + 2.0 * offset_mm - 1e-9, "{way}: {measured}");
        assert_no_totals(way, &plan, "machine typical travels 600 mm", true);
        assert!(
            !plan.process.operations.is_empty() && !plan.sequence().is_empty(),
            "{way}"
        );
        let fits = planned(short, asked);
        assert!(fits.estimate.costs.is_some(), "{way}");
        let found = fits
            .inspection
            .findings
            .iter()
            .filter(|f| f.name == "beyond-machine");
        assert_eq!(found.count(), 0, "{way}");
    }
}

/// An opening as drawn is larger than the travel, the wire path in it is not: it runs half a kerf within.
#[test]
fn the_travel_is_that_of_the_wire_path() {
    let corners = [[0, 0], [6001, 0], [6001, 300], [0, 300]].map(|[x, y]| {
        let mm = |tenths: i32| f64::from(tenths) / 10.0;
        format!("10\n{}\n20\n{}\n", mm(x), mm(y))
    });
    let drawing = format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n8\nRACK\n90\n4\n70\n1\n{}\
         0\nENDSEC\n0\nEOF\n",
        corners.concat()
    );
    for (way, asked) in WAYS {
        let inside = job(&format!("{asked}\n[contour.1]\nuse = \"opening\"\n"));
        let plan = Planner::new(book())
            .job(&inside)
            .plan("rack.dxf", drawing.as_bytes())
            .expect("a sound drawing");
        assert!(
            plan.process.beyond_machine.is_empty() && plan.estimate.costs.is_some(),
            "{way}"
        );
        assert!(
            plan.reaches_demand() || !plan.candidates[0].reasons.is_empty(),
            "{way}"
        );
        let beyond = |why: &kerfwright::plan::Shortfall| why.to_string().contains("travels");
        assert!(
            plan.candidates
                .iter()
                .take(1)
                .all(|taken| !taken.reasons.iter().any(beyond)),
            "{way}"
        );
        let outside = job(&format!("{asked}\n[contour.1]\nuse = \"part\"\n"));
        let plan = Planner::new(book())
            .job(&outside)
            .plan("rack.dxf", drawing.as_bytes())
            .expect("a sound drawing");
        assert_eq!(plan.process.beyond_machine.len(), 1, "{way}");
        assert!(plan.estimate.costs.is_none(), "{way}");
    }
}

#[test]
fn each_limit_of_the_machine_is_told() {
    let file = tempfile::NamedTempFile::with_suffix(".toml").expect("a file");
    let own = "[machine.small]\ntitle = \"small\"\ntravel_y_mm = 30\nheight_mm = 50\ntable_load_kg = 1\n\
               thinnest_wire_mm = 0.15\nthickest_wire_mm = 0.2\nmost_passes = 2\n";
    std::fs::write(file.path(), own).expect("written");
    let plan = [
        "plan",
        "fixtures/totals/bridge.dxf",
        "--material",
        "tool-steel",
        "--thickness",
        "60",
        "--machine",
        "small",
        "--wire",
        "0.25",
        "--book",
        file.path().to_str().expect("a path"),
    ];
    for asked in [&["--passes", "4"][..], &["--passes", "4", "--quantity", "3"]] {
        let arguments = [&plan[..], asked].concat();
        let output = run(&arguments);
        assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
        let value = json(&arguments);
        let findings = rows(&value, "findings").iter();
        let beyond = findings.filter(|finding| finding["name"] == "beyond-machine");
        let messages: Vec<&str> = beyond
            .map(|finding| finding["message"].as_str().expect("words"))
            .collect();
        let wanted = [
            "along y",
            "60 mm thick, machine small takes 50 mm",
            "machine small carries 1 kg",
            "0.25 mm wire is wanted, machine small runs 0.15 to 0.2 mm",
            "4 passes are wanted, machine small has settings for 2",
        ];
        for words in wanted {
            assert!(
                messages.iter().any(|message| message.contains(words)),
                "{words}: {messages:?}"
            );
        }
        assert_eq!(messages.len(), wanted.len(), "{messages:?}");
        assert!(value["estimate"]["price"].is_null());
    }
}

/// The table carries the blank where that is known, not only what is cut out of it.
#[test]
fn the_table_carries_the_blank() {
    let whole = |size: &str| {
        let asked = format!("wire_mm = 0.25\npasses = 2\nblank_mm = {size}");
        let plan = planned("totals/bridge.dxf", &asked);
        plan.inspection
            .findings
            .into_iter()
            .filter(|finding| finding.name == "beyond-machine")
            .collect::<Vec<_>>()
    };
    assert_eq!(whole("[500, 350]"), []);
    // 1200 · 1000 · 60 mm³ of 7.7 g/cm³ are 554.4 kg.
    let found = whole("[1200, 1000]");
    assert!(
        found.len() == 1 && found[0].message.contains("554.4 kg"),
        "{found:?}"
    );
}

/// What is weighed side by side has no cost either, and says why not.
#[test]
fn a_comparison_has_no_total_either() {
    for (drawing, why) in [
        ("totals/bridge-open-line.dxf", "contour 3 is open"),
        (
            "totals/bridge-windows-cross.dxf",
            "contours 3 and 4 pass through each other",
        ),
        (
            "checks/beyond-machine-fires.dxf",
            "machine typical travels 600 mm",
        ),
    ] {
        let bytes = fixture_bytes(drawing);
        let compared = Planner::new(book())
            .job(&job(WAYS[2].1))
            .compare(drawing, &bytes)
            .expect("it can be weighed");
        assert!(
            compared.candidates.len() > 10 && compared.chosen.is_none(),
            "{drawing}"
        );
        let table = csv::comparison(&compared);
        let mut reader = ::csv::Reader::from_reader(table.as_bytes());
        let names = reader.headers().expect("names").clone();
        for cells in reader.records() {
            for (name, cell) in names.iter().zip(&cells.expect("cells")) {
                let total = name.starts_with("minutes") || name.starts_with("cost");
                assert!(!total || cell.is_empty(), "{drawing}: {name} {cell}");
                assert!(
                    name != "reasons" || cell.contains(why) || cell.contains("too thick"),
                    "{drawing}: {cell}"
                );
                assert!(
                    !["feasible", "chosen", "non_dominated"].contains(&name) || cell == "no",
                    "{drawing}: {name}"
                );
            }
        }
        let value = parsed(&report::json::comparison(&compared));
        assert!(value["verified"].is_null(), "{drawing}");
        assert!(
            rows(&value, "candidates")
                .iter()
                .all(|row| row["cost"].is_null() && row["minutes"].is_null())
        );
        let text = terminal::comparison(&compared, Lengths::Mm);
        assert!(text.contains(why), "{drawing}: {text}");
        svg::comparison(&compared);
        let path = format!("fixtures/{drawing}");
        let output = run(&[
            "compare",
            &path,
            "--material",
            "tool-steel",
            "--thickness",
            "60",
            "--finish",
            "Ra 0.8",
        ]);
        assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
        assert!(stdout(&output).contains(why));
    }
}

/// In a table of many drawings the sums hold only what has a price.
#[test]
fn a_quote_prices_only_what_is_whole() {
    let output = run(&[
        "quote",
        "fixtures/totals",
        "--material",
        "tool-steel",
        "--thickness",
        "60",
        "--wire",
        "0.25",
        "--passes",
        "4",
        "--in-order",
    ]);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    let table = stdout(&output);
    let mut reader = ::csv::Reader::from_reader(table.as_bytes());
    let names = reader.headers().expect("names").clone();
    let at = |name: &str| names.iter().position(|column| column == name).expect("a column");
    let records: Vec<_> = reader.records().collect::<Result<_, _>>().expect("rows");
    assert_eq!(records.len(), 6);
    for record in records {
        let whole = record[at("file")].ends_with("bridge.dxf");
        assert_eq!(
            &record[at("status")],
            if whole { "planned" } else { "refused" },
            "{record:?}"
        );
        for cell in ["minutes", "cost_each", "cost_fixed", "pass_area_mm2"] {
            assert_eq!(record[at(cell)].is_empty(), !whole, "{record:?}");
        }
        assert_eq!(record[at("reason")].is_empty(), whole, "{record:?}");
    }
}
