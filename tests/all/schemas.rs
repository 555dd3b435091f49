//! What the commands print keeps to the schemas in `docs/schema`.

use std::fs;
use std::path::PathBuf;

use jsonschema::Validator;
use serde_json::Value;

use crate::common::{drawings_in, fixture, root, run};

const ASKED: [&str; 4] = ["--thickness", "20", "--material", "tool-steel"];

/// A schema that says of each object that it has no other fields, so that a field under another name is seen; readers may
/// not do so, since fields may be added.
fn closed(schema: &Value) -> Value {
    match schema {
        Value::Object(map) => {
            let mut map: serde_json::Map<String, Value> = map
                .iter()
                .map(|(key, value)| (key.clone(), closed(value)))
                .collect();
            // Where parts are put together, each part alone would refuse the fields of the others.
            let whole = !["$ref", "allOf", "anyOf", "oneOf"]
                .iter()
                .any(|key| map.contains_key(*key));
            if whole
                && map.get("properties").is_some_and(Value::is_object)
                && !map.contains_key("additionalProperties")
            {
                map.insert("additionalProperties".into(), false.into());
            }
            Value::Object(map)
        }
        Value::Array(list) => list.iter().map(closed).collect(),
        other => other.clone(),
    }
}

fn validator(name: &str) -> Validator {
    let file = root().join(format!("docs/schema/{name}.schema.json"));
    let text = fs::read_to_string(file).expect("the schema is kept");
    let schema: Value = serde_json::from_str(&text).expect("JSON");
    jsonschema::draft202012::new(&closed(&schema)).expect("a sound schema")
}

/// What a command prints, unless it could not run.
fn printed(arguments: &[&str]) -> Option<String> {
    let output = run(arguments);
    (output.status.code() != Some(2)).then(|| String::from_utf8(output.stdout).expect("text"))
}

fn holds(validator: &Validator, what: &str, text: &str) {
    let value: Value = serde_json::from_str(text).expect("JSON");
    let flaws: Vec<String> = validator
        .iter_errors(&value)
        .map(|flaw| format!("{}: {flaw}", flaw.instance_path()))
        .collect();
    assert!(flaws.is_empty(), "{what}: {flaws:#?}");
}

fn drawings() -> Vec<PathBuf> {
    let folders = ["clock", "shapes", "checks"].into_iter();
    let found: Vec<PathBuf> = folders.flat_map(|folder| drawings_in(&fixture(folder))).collect();
    assert!(found.len() > 100, "{} drawings", found.len());
    found
}

#[test]
fn every_drawing_is_inspected_planned_and_quoted_as_the_schemas_say() {
    let (inspect, plan, quote) = (validator("inspect"), validator("plan"), validator("quote"));
    let (mut inspected, mut planned) = (0, 0);
    for drawing in drawings() {
        let drawing = drawing.to_str().expect("a path in UTF-8");
        if let Some(text) = printed(&["inspect", drawing, "--json"]) {
            holds(&inspect, drawing, &text);
            inspected += 1;
        }
        let arguments = [
            &["plan", drawing, "--wire", "0.25", "--passes", "3", "--json"],
            &ASKED[..],
        ]
        .concat();
        if let Some(text) = printed(&arguments) {
            holds(&plan, drawing, &text);
            planned += 1;
        }
    }
    assert!(
        inspected > 100 && planned > 90,
        "{inspected} inspected, {planned} planned"
    );
    let rows = printed(
        &[
            &["quote", "fixtures/checks", "fixtures/clock", "--json"],
            &ASKED[..],
        ]
        .concat(),
    );
    let rows = rows.expect("it runs");
    assert!(rows.lines().count() > 100);
    rows.lines().for_each(|row| holds(&quote, row, row));
}

#[test]
fn plans_that_choose_and_compare_keep_to_the_schemas() {
    for (schema, arguments) in [
        (
            "plan",
            &[
                "plan",
                "fixtures/clock/hand-die.dxf",
                "--finish",
                "N5",
                "--tolerance",
                "25H7",
                "--layer=START=start-hole",
                "--clamp",
                "left",
                "--margin",
                "5",
                "--json",
            ][..],
        ),
        ("plan", &["plan", "fixtures/shop/ratchet.toml", "--json"]),
        (
            "plan",
            &[
                "plan",
                "fixtures/clock/ratchet.dxf",
                "--demand",
                "layer CLICK=passes 1",
                "--finish",
                "N6",
                "--json",
            ],
        ),
        (
            "compare",
            &[
                "compare",
                "fixtures/clock/ratchet.dxf",
                "--finish",
                "N6",
                "--json",
            ],
        ),
        (
            "compare",
            &[
                "compare",
                "fixtures/clock/front-plate.dxf",
                "--finish",
                "N1",
                "--json",
            ],
        ),
        ("book", &["book", "show", "--json"]),
        (
            "calibrate",
            &["calibrate", "fixtures/shop/finished-jobs.csv", "--json"],
        ),
    ] {
        let asked: &[&str] = if matches!(schema, "plan" | "compare") && !arguments[1].ends_with("toml") {
            &ASKED
        } else {
            &[]
        };
        let text = printed(&[arguments, asked].concat());
        holds(
            &validator(schema),
            &arguments.join(" "),
            &text.unwrap_or_else(|| panic!("{arguments:?} cannot run")),
        );
    }
}

#[test]
fn what_is_told_of_finished_work_keeps_to_the_schemas() {
    for (schema, arguments) in [
        (
            "drift",
            &["drift", "fixtures/shop/wall-readings.csv", "--json"][..],
        ),
        (
            "room",
            &[
                "room",
                "fixtures/shop/room.csv",
                "fixtures/clock/ratchet.dxf",
                "--thickness",
                "8",
                "--material",
                "tool-steel",
                "--json",
            ],
        ),
        (
            "inspection-sheet",
            &[
                "inspection-sheet",
                "fixtures/clock/ratchet.dxf",
                "--thickness",
                "8",
                "--material",
                "tool-steel",
                "--finish",
                "N6",
                "--json",
            ],
        ),
    ] {
        let text = printed(arguments).unwrap_or_else(|| panic!("{arguments:?} cannot run"));
        holds(&validator(schema), &arguments.join(" "), &text);
    }
}

/// The closed schema sees a field that has another name, a type that is another, and a word that is none.
#[test]
fn a_wrong_output_is_seen() {
    let text = printed(&["inspect", "fixtures/clock/ratchet.dxf", "--json"]).expect("it runs");
    let validator = validator("inspect");
    let sound: Value = serde_json::from_str(&text).expect("JSON");
    assert!(validator.is_valid(&sound));
    let wrong: [fn(&mut Value); 4] = [
        |value| value["part"] = "ratchet".into(),
        |value| value["contours"][0]["perimeter"] = value["contours"][0]["perimeter_mm"].take(),
        |value| value["contours"][0]["role"] = "inside".into(),
        |value| value["schema"] = 2.into(),
    ];
    for spoil in wrong {
        let mut value = sound.clone();
        spoil(&mut value);
        assert!(!validator.is_valid(&value));
    }
}
