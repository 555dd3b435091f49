//! The estimate as it is read at the terminal.

use super::{RECTANGLE, run, stderr, stdout};

const DIE: &str = "fixtures/clock/hand-die.dxf";

fn told(drawing: &str, thickness_mm: &str, more: &[&str]) -> String {
    let mut words = vec![
        "plan",
        drawing,
        "--material",
        "tool-steel",
        "--thickness",
        thickness_mm,
    ];
    words.extend(["--wire", "0.25", "--passes", "4"]);
    words.extend(more);
    let output = run(&words);
    assert!(
        output.status.code().is_some_and(|code| code < 2),
        "{}",
        stderr(&output)
    );
    stdout(&output)
}

/// What stands behind a name at the left edge.
fn value(text: &str, name: &str) -> String {
    let found = text
        .lines()
        .find_map(|line| line.strip_prefix(&format!("  {name}  ")));
    found
        .unwrap_or_else(|| panic!("no {name} in {text}"))
        .trim()
        .to_owned()
}

fn numbers(text: &str) -> Vec<f64> {
    text.split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter_map(|word| word.parse().ok())
        .collect()
}

/// One spool, no spool, perhaps: by the whole band. A spool of 8 kg of 0.25 mm brass lasts 32 h at 10 m/min.
#[test]
fn a_plan_says_whether_one_spool_is_enough() {
    for (drawing, mm, said) in [
        (RECTANGLE, "20", ": one is enough"),
        ("fixtures/shapes/rectangle-40x20.dxf", "300", ""),
        (DIE, "300", ""),
    ] {
        let spools = value(&told(drawing, mm, &[]), "spools");
        let band = numbers(&spools);
        let [_, low, high] = band.as_slice() else {
            panic!("{spools}");
        };
        let right = match (*low, *high) {
            (_, high) if high < 1.0 => ": one is enough",
            (low, _) if low > 1.0 => ": one is not enough",
            _ => ": one may not be enough",
        };
        assert!(spools.ends_with(right) && spools.contains(said), "{spools}");
    }
}

/// The hours by itself and attended: each term says whether somebody stands by, and those that run by themselves add
/// up to the hours that are stated.
#[test]
fn attended_and_unattended_hours_are_told_apart() {
    let text = told(RECTANGLE, "60", &[]);
    let (_, time) = text.split_once("time of one piece").expect("a section");
    let (time, _) = time.split_once("ledger of the order").expect("a section");
    let of = |presence: &str| -> f64 {
        let lines = time.lines().filter(|line| line.ends_with(presence));
        lines
            .map(|line| numbers(line.get(40..).expect("a value"))[0])
            .sum()
    };
    let (alone, attended) = (of(", by itself"), of(", attended"));
    assert!(alone > 0.0 && attended > 0.0, "{time}");
    let stated = numbers(&value(time, "of that runs by itself"))[0];
    assert!(
        (stated - alone / 60.0).abs() < 0.06,
        "{stated} h, {alone} min: {time}"
    );
    assert!(numbers(&value(time, "shifts of machine time"))[0] > 0.0);
}

/// Each line of time, wire, money and surface is a figure that `--explain-numbers` takes apart, and it is the same
/// number there.
#[test]
fn every_line_of_an_estimate_is_traced() {
    let text = told(DIE, "30", &[]);
    let traced = told(DIE, "30", &["--explain-numbers"]);
    let mut checked = 0;
    let mut before = String::new();
    let (_, estimate) = text.split_once("\nestimate (").expect("a section");
    let (estimate, _) = estimate.split_once("\n  grade").expect("a surface");
    for line in estimate.lines().skip(2) {
        let name: String = line.chars().take(40).collect();
        let shown: String = line.chars().skip(40).collect();
        let name = name.trim();
        if shown.is_empty() || !line.starts_with("  ") || name.starts_with("cut area") {
            continue;
        }
        let figure = match name.rsplit_once(": ").map_or(name, |(_, name)| name) {
            "cutting" => "cutting minutes",
            "wire" if before == "cutting" => "wire run off",
            "" => "wire mass",
            "spools" => "spools of wire",
            "set-up of a load" => "set-up",
            "total" => "total time",
            "of that runs by itself" => "unattended hours",
            "shifts of machine time" => "shifts",
            "Ra" => "Ra after pass 4",
            other => other,
        };
        let start = format!("{figure} = ");
        let explained: Vec<f64> = traced
            .lines()
            .filter_map(|line| line.strip_prefix(&start))
            .map(|value| numbers(value)[0])
            .collect();
        assert!(!explained.is_empty(), "{line}: no {figure}");
        let expected = match shown.split_once("expected ") {
            Some((_, expected)) => numbers(expected)[0],
            None => numbers(&shown)[0],
        };
        let decimals = shown.split(' ').next().and_then(|word| word.split_once('.'));
        let last_place = decimals.map_or(1.0, |(_, digits)| 10_f64.powf(-(digits.len() as f64)));
        let same = |value: &f64| (value - expected).abs() <= 0.51 * last_place + 1e-3 * expected;
        assert!(explained.iter().any(same), "{line}: {explained:?}");
        checked += 1;
        before = name.to_owned();
    }
    assert!(checked > 20, "{checked} lines");
}
