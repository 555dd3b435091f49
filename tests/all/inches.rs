//! Inches in and out: 1 in = 25.4 mm exactly (NIST Special Publication 811, 2008, appendix B).

use std::path::Path;
use std::process::Output;

use crate::common::{RECTANGLE, run};

fn stdout(output: &Output) -> String {
    assert!(output.status.code().is_some_and(|code| code < 2), "{output:?}");
    String::from_utf8(output.stdout.clone()).expect("text")
}

/// The cells of a CSV, each by its column, of the first row.
fn first_row(csv_text: &str) -> impl Fn(&str) -> String + use<> {
    let mut reader = csv::Reader::from_reader(csv_text.as_bytes());
    let names = reader.headers().expect("names").clone();
    let row = reader.records().next().expect("a row").expect("a sound row");
    move |name| {
        let at = names.iter().position(|column| column == name);
        row[at.unwrap_or_else(|| panic!("no column {name}"))].to_owned()
    }
}

#[test]
fn what_is_asked_in_inches_gives_the_bytes_of_the_same_in_millimetres() {
    let asked = |lengths: [&str; 6]| {
        let [thickness, wire, aim, lead, blank, start] = lengths;
        stdout(&run(&[
            "plan",
            RECTANGLE,
            "--material",
            "tool-steel",
            "--passes",
            "3",
            "--json",
            "--thickness",
            thickness,
            "--wire",
            wire,
            "--aim",
            aim,
            "--overlap",
            lead,
            "--blank",
            blank,
            "--start",
            start,
            "--tolerance",
            "±0.001in",
        ]))
    };
    let metric = asked(["50.8", "0.25", "-0.00254", "0.508", "101.6x76.2", "12.7,6.35"]);
    let inch = asked(["2in", "250um", "-0.1 thou", "0.02\"", "4x3in", "0.5,0.25in"]);
    assert!(metric == inch, "the JSON differs");
}

#[test]
fn lengths_come_out_in_inches_where_that_is_asked() {
    let metric = stdout(&run(&["inspect", RECTANGLE]));
    let inch = stdout(&run(&["inspect", RECTANGLE, "--display-unit", "inch"]));
    // Perimeter 120 mm, area 800 mm², 40 × 20 mm.
    assert!(
        metric.contains("perimeter mm") && metric.contains("120.0000"),
        "{metric}"
    );
    for wanted in [
        "perimeter in",
        "4.724409",
        "area in²",
        "1.2400025",
        "1.5748 × 0.7874",
    ] {
        assert!(inch.contains(wanted), "{wanted} in {inch}");
    }
    let plan = [
        "plan",
        RECTANGLE,
        "--material",
        "tool-steel",
        "--passes",
        "4",
        "--thickness",
        "1in",
        "--wire",
        "0.25",
        "--display-unit",
        "inch",
        "--full",
    ];
    let plan = stdout(&run(&plan));
    // The offset of the rough cut is 197 µm, of the last 130 µm.
    for wanted in [
        "thickness      1 in",
        "wire           0.0098 in",
        "offset in",
        "0.007756",
        "0.005118",
        "Ra µin",
    ] {
        assert!(plan.contains(wanted), "{wanted} in {plan}");
    }
    let drawn = plan.replace("read in mm", "").replace("drawing unit   mm", "");
    assert!(!drawn.contains(" mm") && !drawn.contains("µm"), "{drawn}");
}

#[test]
fn a_table_of_quotes_says_inches_in_its_columns_and_goes_on_from_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let quote = |table: &Path, lengths: &str| {
        run(&[
            "quote",
            RECTANGLE,
            "--thickness",
            "1in",
            "--material",
            "tool-steel",
            "--passes",
            "1",
            "--display-unit",
            lengths,
            "--out",
            table.to_str().expect("a path in UTF-8"),
        ])
    };
    let (metric, inch) = (folder.path().join("mm.csv"), folder.path().join("inch.csv"));
    stdout(&quote(&metric, "mm"));
    stdout(&quote(&inch, "inch"));
    let read = |path: &Path| std::fs::read_to_string(path).expect("a table");
    let (in_mm, in_inch) = (first_row(&read(&metric)), first_row(&read(&inch)));
    let value = |text: String| text.parse::<f64>().expect("a number");
    for (column, per_inch) in [
        ("perimeter", 25.4),
        ("thickness", 25.4),
        ("wire", 25.4),
        ("cut_area", 25.4 * 25.4),
    ] {
        let square = if column == "cut_area" { "2" } else { "" };
        let mm = value(in_mm(&format!("{column}_mm{square}")));
        let inch = value(in_inch(&format!("{column}_in{square}")));
        assert!(
            (inch * per_inch / mm - 1.0).abs() < 2e-4,
            "{column}: {inch} in, {mm} mm"
        );
    }
    assert_eq!(in_mm("minutes"), in_inch("minutes"));
    let before = read(&inch);
    let again = quote(&inch, "inch");
    assert!(
        String::from_utf8_lossy(&again.stderr).contains("1 rows stood in the table already"),
        "{again:?}"
    );
    assert_eq!(read(&inch), before);
    // A table in the other unit is left alone.
    assert_eq!(quote(&inch, "mm").status.code(), Some(2));
    assert_eq!(read(&inch), before);
}

#[test]
fn a_unit_that_is_none_is_told_with_the_option() {
    let output = run(&[
        "plan",
        RECTANGLE,
        "--material",
        "tool-steel",
        "--passes",
        "1",
        "--thickness",
        "2 cubits",
    ]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        said.contains("--thickness") && said.contains("`cubits`") && said.contains("0.010in"),
        "{said}"
    );
}

#[test]
fn an_error_speaks_in_inches_too() {
    let output = run(&[
        "plan",
        RECTANGLE,
        "--material",
        "tool-steel",
        "--passes",
        "1",
        "--wire",
        "11thou",
        "--thickness",
        "1in",
        "--display-unit",
        "inch",
    ]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        said.contains("no wire of 0.011 in") && said.contains("0.0098 in") && !said.contains(" mm"),
        "{said}"
    );
}
