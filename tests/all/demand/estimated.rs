//! The estimate as it is read at the terminal.

use crate::common::{run, stderr, stdout};

const DIE: &str = "fixtures/clock/hand-die.dxf";

fn told(more: &[&str]) -> String {
    let mut words = vec!["plan", DIE, "--material", "tool-steel", "--thickness", "30"];
    words.extend(["--wire", "0.25", "--passes", "4", "--layer", "START=start-hole"]);
    words.extend(more);
    let output = run(&words);
    assert!(
        output.status.code().is_some_and(|code| code < 2),
        "{}",
        stderr(&output)
    );
    stdout(&output)
}

fn numbers(text: &str) -> Vec<f64> {
    text.split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter_map(|word| word.parse().ok())
        .collect()
}

/// Each line of time, wire, money and surface is a figure that `--explain-numbers` takes apart, and it is the same
/// number there.
#[test]
fn every_line_of_an_estimate_is_traced() {
    let text = told(&[]);
    let traced = told(&["--explain-numbers"]);
    let mut checked = 0;
    let mut before = String::new();
    let (_, estimate) = text.split_once("\nestimate (").expect("a section");
    let (estimate, _) = estimate.split_once("\n  grade").expect("a surface");
    for line in estimate.lines().skip(2) {
        let name: String = line.chars().take(40).collect();
        let shown: String = line.chars().skip(40).collect();
        let name = name.trim();
        if shown.is_empty() || !line.starts_with("  ") {
            continue;
        }
        let figure = match name.rsplit_once(": ").map_or(name, |(_, name)| name) {
            "cutting" => "cutting minutes",
            "wire" if before == "cutting" => "wire run off",
            "" if before == "wire, all" => "wire mass, order",
            "" => "wire mass",
            "machine, all with set-ups" => "machine time of the order",
            "operator, all with set-ups" => "attended time of the order",
            "start holes, on another machine" => "start holes of the order",
            "wire, all" => "wire run off, order",
            // Counted on the calendar, and no number.
            "days" | "blank material" => continue,
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

/// Class, grade and combined uncertainty too.
#[test]
fn scales_and_the_combined_uncertainty_are_traced() {
    let (text, traced) = (told(&[]), told(&["--explain-numbers"]));
    for (line, figure) in [
        ("grade", "VDI class"),
        ("grade", "N grade"),
        ("on size, offset gauged (k = 2)", "expanded uncertainty on size"),
        ("a side, offset gauged (k = 2)", "expanded uncertainty of a wall"),
    ] {
        let start = format!("  {line:<38}");
        let shown = text.lines().find_map(|line| line.strip_prefix(&start));
        let shown = numbers(shown.unwrap_or_else(|| panic!("no line {line}")));
        let start = format!("{figure} = ");
        let explained = traced.lines().find_map(|line| line.strip_prefix(&start));
        let explained = numbers(explained.unwrap_or_else(|| panic!("no {figure}")))[0];
        assert!(
            shown.iter().any(|value| (value - explained).abs() <= 0.51),
            "{figure}: {explained} of {shown:?}"
        );
    }
}
