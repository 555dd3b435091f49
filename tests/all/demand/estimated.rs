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

/// The number that stands first, minutes where it is hours and minutes.
fn first_number(text: &str) -> f64 {
    let found = numbers(text);
    match text.trim_start().split(' ').nth(1) {
        Some("h")
            if text.contains(" h ")
                && text
                    .split(" h ")
                    .nth(1)
                    .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit())) =>
        {
            60.0 * found[0] + found[1]
        }
        _ => found[0],
    }
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
    let text = told(&["--full"]);
    let traced = told(&["--explain-numbers"]);
    let mut checked = 0;
    let mut heading = "";
    let (_, estimate) = text.split_once("\nestimate: ").expect("a section");
    let (estimate, _) = estimate.split_once("\n  grade").expect("a surface");
    for line in estimate.lines().skip(2) {
        if !line.starts_with("  ") {
            heading = line.split([' ', ':']).next().unwrap_or_default();
            continue;
        }
        let mut cells = line.split("  ").filter(|cell| !cell.is_empty());
        let (Some(name), Some(shown)) = (cells.next(), cells.next()) else {
            continue;
        };
        let figure = match (heading, name.rsplit_once(": ").map_or(name, |(_, name)| name)) {
            ("", "cutting") => "cutting minutes",
            ("", "wire") => "wire run off",
            ("", "mass of the wire") => "wire mass",
            (_, "one piece at the machine") => "machine time",
            (_, "order at the machine, with set-ups" | "machine, with set-ups") => {
                "machine time of the order"
            }
            ("order", "operator, with set-ups") => "attended time of the order",
            ("order", "start holes, on another machine") => "start holes of the order",
            ("order", "wire") => "wire run off, order",
            ("order", "mass of the wire") => "wire mass, order",
            ("order", "set-ups") => "set-ups of the order",
            ("order", "shifts of machine time") => "shifts of the order",
            ("order", "programming") => "programming time",
            ("order", "inspection") => "inspection time",
            // Counted on the calendar, and no number; the heads of tables; another model of the same wall.
            (_, "days" | "blank material" | "term" | "line" | "finish called for" | "limits called for") => {
                continue;
            }
            (_, name) if name.starts_with("expected error") => continue,
            (_, "set-up per load") => "set-up",
            (_, "of that unattended") => "unattended hours",
            (_, "shifts of machine time") => "shifts",
            (_, "Ra") => "Ra after pass 4",
            (_, "indicative price of the order") => "price of the order",
            (_, other) => other,
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
            None => first_number(shown),
        };
        let decimals = shown.split(' ').next().and_then(|word| word.split_once('.'));
        let last_place = decimals.map_or(1.0, |(_, digits)| 10_f64.powf(-(digits.len() as f64)));
        let same = |value: &f64| (value - expected).abs() <= 0.51 * last_place + 1e-3 * expected;
        assert!(explained.iter().any(same), "{line}: {explained:?}");
        checked += 1;
    }
    assert!(checked > 20, "{checked} lines");
}

/// Class, grade and combined uncertainty too.
#[test]
fn scales_and_the_combined_uncertainty_are_traced() {
    let (text, traced) = (told(&["--full"]), told(&["--explain-numbers"]));
    for (line, figure) in [
        ("grade", "VDI class"),
        ("grade", "N grade"),
        (
            "expected error on size, after gauging (k = 2)",
            "expanded uncertainty on size",
        ),
        (
            "expected error a side, after gauging (k = 2)",
            "expanded uncertainty of a wall",
        ),
    ] {
        let start = format!("  {line}  ");
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
