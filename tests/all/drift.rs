//! The chart of readings on finished walls, as the command prints it.

use std::fmt::Write as _;

use roxmltree::Document;

use crate::common::{assert_close, json, number, rows, run, run_with_input, stderr, stdout};

const LOG: &str = "fixtures/shop/wall-readings.csv";

/// By hand, for a run of ten readings twice over: the flow rates of NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, as what is
/// too much on a wall; their first ten moving ranges sum to 16.9 and the step back to the first is 2.5: (2 · 16.9 + 2.5)/19 = 1.9105.
#[test]
fn the_limits_are_those_worked_by_hand() {
    let flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    let mut log = "kind,walls,target_mm,measured_mm,offset_mm\n".to_owned();
    for um in flow.iter().chain(&flow) {
        let _ = writeln!(log, "part,1,5,{:.7},0.180", 5.0 + um / 1000.0);
    }
    let output = run_with_input(&["drift", "-", "--json"], &log);
    let value: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let baseline = &value["recipes"][0]["baselines"][0];
    assert_eq!(baseline["state"], "settled");
    let limits = &baseline["limits"];
    assert_close("mean", number(&limits["mean_um"]), 50.81, 1e-4);
    assert_close("mean range", number(&limits["mean_range_um"]), 36.3 / 19.0, 1e-4);
    assert_close(
        "upper",
        number(&limits["upper_um"]),
        50.81 + 3.0 * (36.3 / 19.0) / 1.128,
        1e-4,
    );
    assert_close(
        "range",
        number(&limits["upper_range_um"]),
        3.267 * 36.3 / 19.0,
        1e-4,
    );
    // All lie far off the target: the offset goes down by the mean.
    assert_close(
        "offset",
        number(&baseline["change"]["offset_mm"]),
        0.180 - 0.05081,
        1e-7,
    );
}

#[test]
fn the_log_of_the_workshop_calls_for_the_change_that_was_made() {
    let value = json(&["drift", LOG]);
    let recipes = rows(&value, "recipes");
    assert_eq!(recipes.len(), 2);
    let baselines = rows(&recipes[0], "baselines");
    assert_eq!(baselines.len(), 2);
    let (called_for, made) = (&baselines[0]["change"]["offset_mm"], &baselines[1]["offset_mm"]);
    // As it is typed at the machine, to a tenth of a micrometre.
    assert_close("offset", number(made), number(called_for), 0.5e-4);
    assert_eq!(baselines[1]["begun_without_signal"], false);
    assert!(baselines[1]["change"].is_null());
    assert_eq!(recipes[1]["baselines"][0]["state"], "too-few");
}

#[test]
fn the_charts_are_well_formed_and_hold_every_point() {
    let value = json(&["drift", LOG]);
    let svg = stdout(&run(&["drift", LOG, "--svg"]));
    let document = Document::parse(&svg).expect("well-formed XML");
    let circles = document
        .descendants()
        .filter(|node| node.has_tag_name("circle"))
        .count();
    let baselines = rows(&value, "recipes")
        .iter()
        .flat_map(|recipe| rows(recipe, "baselines"));
    let points: usize = baselines
        .map(|baseline| 2 * rows(baseline, "points").len() - 1)
        .sum();
    assert_eq!(
        circles, points,
        "each point, and each change from one to the next"
    );
}

#[test]
fn a_log_without_readings_is_refused_with_what_it_needs() {
    let refused = run_with_input(&["drift", "-"], "kind,target,measured_mm\npart,20,20\n");
    assert_eq!(refused.status.code(), Some(2));
    let told = stderr(&refused);
    assert!(
        told.contains("column `target_mm` is missing; is it `target`?"),
        "{told}"
    );
    let room = tempfile::tempdir().expect("a folder");
    let page = room.path().join("drift.html");
    let page = page.to_str().expect("UTF-8");
    assert_eq!(run(&["drift", LOG, "--report", page]).status.code(), Some(0));
    let text = std::fs::read_to_string(page).expect("written");
    assert!(text.starts_with("<!DOCTYPE html>") && text.matches("<svg").count() == 2);
    assert_eq!(
        run(&["drift", LOG, "--report", page]).status.code(),
        Some(2),
        "never written over"
    );
}
