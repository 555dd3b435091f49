//! Whether it can be done at all, and with which machine.

use std::collections::BTreeSet;
use std::fs;

use crate::common::{RECTANGLE, json, number, root, rows, run, stderr, stdout};

/// Neither is the time of a straight cut: refused, in the words of the job.
#[test]
fn a_taper_or_a_land_is_refused() {
    let room = tempfile::tempdir().expect("a folder");
    let file = room.path().join("job.toml");
    let drawing = root().join(RECTANGLE);
    for option in ["--taper=1.5", "--land=4"] {
        let output = run(&[
            "plan",
            RECTANGLE,
            "--thickness",
            "20",
            "--material",
            "tool-steel",
            option,
        ]);
        assert_eq!(output.status.code(), Some(2), "{option}");
        assert!(
            stderr(&output).contains("not the time of a straight cut"),
            "{}",
            stderr(&output)
        );
    }
    for asked in ["taper_deg = 1", "land_mm = 4"] {
        let text = format!(
            "drawing = {:?}\nmaterial = \"tool-steel\"\nthickness_mm = 20\nfinish = \"Ra 1.6\"\n{asked}\n",
            drawing.to_str().expect("a path")
        );
        fs::write(&file, text).expect("written");
        for command in ["plan", "compare"] {
            let output = run(&[command, file.to_str().expect("a path")]);
            let said = stdout(&output) + &stderr(&output);
            assert!(
                said.contains("taper or land: its time is not the time of a straight cut"),
                "{said}"
            );
            if command == "plan" {
                assert_eq!(output.status.code(), Some(2), "{asked}: {said}");
                assert!(output.stdout.is_empty());
            }
        }
    }
}

/// A drawing that asks for one is marked.
#[test]
fn a_drawing_whose_text_asks_for_a_land_is_marked() {
    let arguments = [
        "plan",
        "fixtures/checks/taper-in-text-fires.dxf",
        "--thickness",
        "20",
        "--material",
        "tool-steel",
    ];
    let plan = json(&arguments);
    let findings = rows(&plan, "findings");
    assert!(
        findings.iter().any(|finding| finding["name"] == "taper-in-text"),
        "{findings:?}"
    );
}

/// Each contour can be asked for its own: a die opening in four passes, the outside in one.
#[test]
fn a_die_takes_four_passes_and_its_outside_one() {
    let by_contour = |outside: &str, opening: &str| {
        json(&[
            "plan",
            "fixtures/clock/hand-die.dxf",
            "--thickness",
            "20",
            "--material",
            "tool-steel",
            "--wire",
            "0.25",
            "--demand",
            &format!("contour {outside}=passes 1"),
            "--demand",
            &format!("contour {opening}=passes 4"),
        ])
    };
    let inspected = json(&["inspect", "fixtures/clock/hand-die.dxf"]);
    let of_role = |role: &str| {
        let contours = rows(&inspected, "contours");
        let found = contours
            .iter()
            .find(|contour| contour["role"] == role && contour["use"] == "cut");
        found.unwrap_or_else(|| panic!("no {role}"))["id"].to_string()
    };
    let (outside, opening) = (of_role("outside"), of_role("opening"));
    let plan = by_contour(&outside, &opening);
    let passes_of = |contour: &str| -> BTreeSet<u64> {
        let paths = rows(&plan, "paths").iter();
        let own = paths.filter(|path| path["contour"].as_u64() == contour.parse().ok());
        own.filter_map(|path| path["pass"].as_u64()).collect()
    };
    assert_eq!(passes_of(&outside), [1].into());
    assert_eq!(passes_of(&opening), [1, 2, 3, 4].into());
}

/// Every machine of the book stands beside every wire, and the one to take is the one that can hold the work.
#[test]
fn all_machines_of_the_book_are_weighed() {
    let room = tempfile::tempdir().expect("a folder");
    let file = room.path().join("shop.toml");
    let own = "[machine.quick]\ntitle = \"quick and small\"\ntravel_x_mm = 30\nrate_factor = 1.5\n\
               [machine.steady]\ntitle = \"steady\"\nrate_factor = 1.2\n";
    fs::write(&file, own).expect("written");
    let arguments = [
        "compare",
        RECTANGLE,
        "--thickness",
        "20",
        "--material",
        "tool-steel",
        "--finish",
        "Ra 1.6",
        "--book",
        file.to_str().expect("a path"),
    ];
    let compared = json(&arguments);
    let candidates = rows(&compared, "candidates");
    let machines: BTreeSet<&str> = candidates
        .iter()
        .filter_map(|row| row["machine"].as_str())
        .collect();
    assert_eq!(machines, ["quick", "steady", "typical"].into());
    for row in candidates.iter().filter(|row| row["machine"] == "quick") {
        assert_eq!(row["feasible"], false);
        let reasons: Vec<&str> = rows(row, "reasons")
            .iter()
            .filter_map(|why| why.as_str())
            .collect();
        assert!(
            reasons
                .iter()
                .any(|why| why.contains("along x, machine quick travels 30 mm")),
            "{reasons:?}"
        );
    }
    let chosen: Vec<_> = candidates.iter().filter(|row| row["chosen"] == true).collect();
    assert_eq!(chosen.len(), 1);
    assert_eq!(chosen[0]["machine"], "steady", "the faster of those that hold it");
    let slower = candidates.iter().find(|row| {
        row["machine"] == "typical"
            && ["wire_mm", "wire_kind", "passes"]
                .iter()
                .all(|key| row[key] == chosen[0][key])
    });
    assert!(number(&slower.expect("weighed")["minutes"]) > number(&chosen[0]["minutes"]));
    let text = stdout(&run(&arguments));
    let (_, why_not) = text.split_once("why rejected").expect("some fail");
    for line in why_not
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("    "))
    {
        let mut names: Vec<&str> = line.trim().split(", ").collect();
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), all, "{line}");
    }
}

/// One spool is enough for a small part, and not for a tall block; what runs by itself and the shifts stand beside it.
#[test]
fn the_wire_and_the_shift_are_told() {
    let said = |drawing: &str, thickness: &str, passes: &str| {
        let arguments = [
            "plan",
            drawing,
            "--thickness",
            thickness,
            "--material",
            "tool-steel",
            "--wire",
            "0.25",
            "--passes",
            passes,
            "--full",
        ];
        stdout(&run(&arguments))
    };
    let small = said(RECTANGLE, "20", "2");
    assert!(small.contains(": one is enough"), "{small}");
    let tall = said("fixtures/shapes/plate-200-holes.dxf", "200", "8");
    assert!(tall.contains(": one is not enough"), "{tall}");
    for text in [&small, &tall] {
        assert!(
            text.contains("of that unattended") && text.contains("shifts of machine time"),
            "{text}"
        );
    }
    // Hours that run by themselves are no more than the machine's.
    let plan = json(&[
        "plan",
        RECTANGLE,
        "--thickness",
        "20",
        "--material",
        "tool-steel",
        "--wire",
        "0.25",
        "--passes",
        "2",
    ]);
    let estimate = &plan["estimate"];
    let expected = |key: &str| number(&estimate[key]["expected"]);
    let attended_h = expected("attended_minutes") / 60.0;
    let machine_h = expected("machine_minutes") / 60.0;
    assert!((expected("unattended_hours") - (machine_h - attended_h)).abs() < 1e-9);
}
