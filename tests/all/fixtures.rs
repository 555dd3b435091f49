//! The workshop's drawings: the committed files are what the generator draws, and the library measures what their
//! closed formulas say.

#[path = "../../examples/draw_fixtures/workshop/mod.rs"]
pub(crate) mod workshop;

use std::f64::consts::{PI, TAU};
use std::fs;
use std::path::PathBuf;

use kerfwright::contour::Contour;
use kerfwright::job::{Purpose, Purposes};
use kerfwright::plan::Planner;
use serde_json::Value;

use crate::common::{assert_close, book, fixture, job_of, number};

fn file(name: &str, suffix: &str) -> PathBuf {
    fixture(format!("{name}.{suffix}"))
}

#[test]
fn committed_drawings_are_what_the_generator_draws() {
    let all = workshop::all();
    assert!(all.len() >= 13, "only {} drawings", all.len());
    for fixture in all {
        for (suffix, drawn) in [("dxf", &fixture.dxf), ("json", &fixture.answer)] {
            let file = file(fixture.name, suffix);
            let committed =
                fs::read_to_string(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
            assert!(
                committed == *drawn,
                "{} differs: run `cargo run --example draw_fixtures`",
                file.display()
            );
        }
    }
}

/// What the sidecar says the layers are for, as the user would say it.
fn uses(sidecar: &Value) -> Purposes {
    let mut uses = Purposes::default();
    for row in rows(sidecar) {
        let purpose: Purpose = serde_json::from_value(row["use"].clone()).expect("a use");
        if purpose != Purpose::Cut {
            uses.layers.insert(text(&row["layer"]).to_lowercase(), purpose);
        }
    }
    uses
}

fn rows(sidecar: &Value) -> &[Value] {
    sidecar["contours"].as_array().expect("a list of contours")
}

fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

/// Closed forms: see the `formula` of each row in the sidecars. To 1e-9 relative, except the contours that stand in
/// for splines and ellipses.
#[test]
fn lengths_and_areas_are_those_of_the_closed_formulas() {
    let mut compared = 0;
    for fixture in workshop::all() {
        let name = fixture.name;
        let sidecar: Value = serde_json::from_str(&fixture.answer).expect("the sidecar is JSON");
        let uses = uses(&sidecar);
        let seen = Planner::new(book())
            .job(&job_of(&uses))
            .inspect(name, fixture.dxf.as_bytes())
            .unwrap_or_else(|error| panic!("{name}: {error}"));
        let drawn: f64 = seen.drawing.curves.iter().map(|curve| curve.length_mm).sum();
        let expected = number(&sidecar["curve_length_mm"]);
        assert_close(
            &format!("{name}: length as drawn"),
            drawn,
            expected,
            1e-9 * expected,
        );
        let count = |closed| {
            seen.contours
                .list
                .iter()
                .filter(|c| c.polyline.closed == closed)
                .count() as u64
        };
        assert_eq!(
            Some(count(true)),
            sidecar["closed_contours"].as_u64(),
            "{name}: closed contours"
        );
        assert_eq!(
            Some(count(false)),
            sidecar["open_chains"].as_u64(),
            "{name}: open chains"
        );

        let fit_mm = number(&sidecar["fit_mm"]);
        for row in rows(&sidecar) {
            let (perimeter, area) = (number(&row["perimeter_mm"]), number(&row["area_mm2"]));
            let layer = text(&row["layer"]);
            // Equal contours share a row; the plate and its holes share a layer.
            let alike: Vec<&Contour> = seen
                .contours
                .list
                .iter()
                .filter(|c| {
                    seen.drawing.layers[seen.drawing.curves[c.curves[0]].origin.layer as usize].name == layer
                })
                .filter(|c| c.polyline.closed && (c.area_mm2 - area).abs() < 0.01 * area)
                .collect();
            assert_eq!(
                Some(alike.len() as u64),
                row["count"].as_u64(),
                "{name}: contours like {row}"
            );
            for contour in alike {
                let what = |kind: &str| format!("{name}: {kind} of contour {} on {layer}", contour.id);
                // A closed curve that stays within `fit` of another one encloses the same area but for a band of that
                // width; a convex one is at most 2 pi times `fit` longer or shorter (Steiner), and these are nearly so.
                let perimeter_slack = 1e-9 * perimeter + TAU * fit_mm;
                assert_close(
                    &what("perimeter"),
                    contour.perimeter_mm,
                    perimeter,
                    perimeter_slack,
                );
                assert_close(
                    &what("area"),
                    contour.area_mm2,
                    area,
                    1e-9 * area + fit_mm * perimeter,
                );
                if matches!(contour.purpose, Purpose::Cut | Purpose::Existing) {
                    let role = serde_json::to_value(contour.role).expect("a role can be written");
                    assert_eq!(role, row["role"], "{}", what("role"));
                }
                compared += 1;
            }
        }
    }
    assert!(compared >= 200, "only {compared} contours were compared");
}

/// The punch is the curve parallel to the opening at the clearance c: L - 2 pi c and A - L c + pi c² (Steiner's
/// formula). A second way to the figures of the two sidecars, which are reckoned piece by piece.
#[test]
fn punch_and_die_keep_their_clearance_all_round() {
    let answer = |name: &str| -> Value {
        let json = fs::read_to_string(file(name, "json")).expect("the sidecar is here");
        serde_json::from_str(&json).expect("the sidecar is JSON")
    };
    let (die, punch) = (answer("clock/hand-die"), answer("clock/hand-punch"));
    let opening = rows(&die)
        .iter()
        .find(|row| row["layer"] == "OPENING")
        .expect("the opening");
    let punch = &rows(&punch)[0];
    let clearance = 0.03;
    let (length, area) = (number(&opening["perimeter_mm"]), number(&opening["area_mm2"]));
    let parallel = area - length * clearance + PI * clearance * clearance;
    assert_close(
        "perimeter",
        number(&punch["perimeter_mm"]),
        length - TAU * clearance,
        1e-9 * length,
    );
    assert_close("area", number(&punch["area_mm2"]), parallel, 1e-9 * area);
}
