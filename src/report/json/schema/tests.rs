//! The schemas in `docs/schema` are what the types of this module say, and break no promise.
//!
//! `UPDATE=1 cargo test --lib report::json` rewrites them and adds new fields to the promise. It takes nothing out of it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use schemars::transform::RestrictFormats;
use serde_json::{Value, json};

use crate::report::json::{PAGE_SCHEMA, SCHEMA, SCHEMAS, Schema};

/// The schema of what is written from a type.
fn schema_of<T: JsonSchema>() -> Value {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    // `double`, `uint` and the like are no formats of the standard.
    let settings = settings.with_transform(RestrictFormats::default());
    settings.into_generator().into_root_schema_for::<T>().into()
}

fn made(name: &str) -> Value {
    match name {
        "inspect" => schema_of::<crate::report::json::inspection::InspectionDocument>(),
        "plan" => schema_of::<crate::report::json::plan::PlanDocument>(),
        "compare" => schema_of::<crate::report::json::comparison::ComparisonDocument>(),
        "quote" => schema_of::<crate::report::quote::QuoteLine>(),
        "book" => schema_of::<crate::report::json::book::NumbersDocument>(),
        "calibrate" => schema_of::<crate::report::json::calibration::CalibrationDocument>(),
        "gauge" => schema_of::<crate::report::json::gauging::GaugingDocument>(),
        "drift" => schema_of::<crate::report::json::drift::DriftDocument>(),
        "inspection-sheet" => schema_of::<crate::report::json::inspection_sheet::InspectionSheetDocument>(),
        "readings" => schema_of::<crate::report::json::readings::ReadingsDocument>(),
        "room" => schema_of::<crate::report::json::room::RoomDocument>(),
        "page" => schema_of::<crate::report::json::page::PageDocument>(),
        "rest" => schema_of::<crate::report::json::rest::RestDocument>(),
        "choices" => schema_of::<crate::report::json::choices::ChoicesDocument>(),
        "job" => schema_of::<crate::report::json::job::JobDocument>(),
        "refused" => schema_of::<crate::report::json::refused::RefusedDocument>(),
        other => panic!("say here which type writes {other}"),
    }
}

fn all_made() -> impl Iterator<Item = (&'static Schema, Value)> {
    SCHEMAS.iter().map(|schema| {
        let mut made = made(schema.name);
        let number = if schema.is_promised {
            format!("schema {SCHEMA}")
        } else {
            format!("number {PAGE_SCHEMA} of the page, not promised")
        };
        made["title"] = json!(format!("kerfwright: {}, {number}", schema.of));
        (schema, made)
    })
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/schema")
}

fn update() -> bool {
    std::env::var_os("UPDATE").is_some()
}

/// Every place where a value can stand, as `.contours[].role`, with the types it can have there and its words.
fn fields(schema: &Value) -> BTreeMap<String, BTreeSet<String>> {
    let mut found = BTreeMap::new();
    walk(schema, schema, "", &mut found);
    found
}

fn walk(root: &Value, at: &Value, path: &str, found: &mut BTreeMap<String, BTreeSet<String>>) {
    if let Some(reference) = at["$ref"].as_str() {
        let pointer = reference
            .strip_prefix('#')
            .expect("nothing is referred to elsewhere");
        walk(root, root.pointer(pointer).expect("it is defined"), path, found);
    }
    for branch in ["anyOf", "oneOf", "allOf"]
        .iter()
        .filter_map(|key| at[key].as_array())
    {
        for at in branch {
            walk(root, at, path, found);
        }
    }
    let words = at["enum"].as_array().into_iter().flatten().chain(at.get("const"));
    let words = words.map(|word| format!("= {word}"));
    let types = match &at["type"] {
        Value::String(one) => vec![one.clone()],
        Value::Array(several) => several
            .iter()
            .filter_map(Value::as_str)
            .map(str::to_owned)
            .collect(),
        _ => Vec::new(),
    };
    let here: Vec<String> = types.into_iter().chain(words).collect();
    if !here.is_empty() {
        found.entry(path.to_owned()).or_default().extend(here);
    }
    for (name, property) in at["properties"].as_object().into_iter().flatten() {
        walk(root, property, &format!("{path}.{name}"), found);
    }
    if at["additionalProperties"].is_object() {
        walk(root, &at["additionalProperties"], &format!("{path}.*"), found);
    }
    let items = at["prefixItems"].as_array().into_iter().flatten();
    for item in items.chain(at.get("items").filter(|items| items.is_object())) {
        walk(root, item, &format!("{path}[]"), found);
    }
}

/// One line a field and type, and one a word; a field that may be absent says so.
fn lines(name: &str, schema: &Value) -> BTreeSet<String> {
    let mut lines = BTreeSet::new();
    for (path, types) in fields(schema) {
        let (words, types): (Vec<_>, Vec<_>) = types.into_iter().partition(|of| of.starts_with('='));
        lines.insert(format!("{name}{path}: {}", types.join(" or ")));
        lines.extend(words.into_iter().map(|word| format!("{name}{path} {word}")));
    }
    lines
}

#[test]
fn the_kept_schemas_are_those_of_the_types() {
    for (schema, made) in all_made() {
        let file = folder().join(format!("{}.schema.json", schema.name));
        let text = crate::report::json::text(&made);
        if update() {
            fs::write(&file, &text).expect("the schema can be written");
        }
        let kept = fs::read_to_string(&file).expect("the schema is kept");
        assert!(
            kept == text,
            "{} is not what the types say now: `UPDATE=1 cargo test --lib report::json`, and look at the difference",
            file.display()
        );
    }
}

#[test]
fn what_is_promised_stays() {
    let file = folder().join(format!("promised-{SCHEMA}.txt"));
    let now: BTreeSet<String> = all_made()
        .filter(|(schema, _)| schema.is_promised)
        .flat_map(|(schema, made)| lines(schema.name, &made))
        .collect();
    let kept = fs::read_to_string(&file).unwrap_or_default();
    let promised: BTreeSet<String> = kept.lines().map(str::to_owned).collect();
    let broken: Vec<_> = promised.difference(&now).collect();
    assert!(
        broken.is_empty(),
        "promised under schema {SCHEMA} and no longer so: keep it, or raise the number of the schema\n{broken:#?}"
    );
    if update() {
        let text = now.into_iter().collect::<Vec<_>>().join("\n") + "\n";
        fs::write(&file, text).expect("the promise can be written");
        return;
    }
    let new: Vec<_> = now.difference(&promised).collect();
    assert!(
        new.is_empty(),
        "new fields, not yet promised: `UPDATE=1 cargo test --lib report::json`\n{new:#?}"
    );
}

/// The comparison above sees each kind of breach.
#[test]
fn a_breach_of_the_promise_is_seen() {
    let before = lines("plan", &made("plan"));
    let breaches: [fn(&mut Value); 5] = [
        |schema| {
            let of = schema["properties"].as_object_mut().expect("properties");
            let value = of.remove("thickness_mm").expect("it is there");
            of.insert("height_mm".into(), value);
        },
        |schema| schema["properties"]["thickness_mm"]["type"] = json!("string"),
        |schema| schema["properties"]["thickness_mm"]["type"] = json!(["number", "null"]),
        |schema| schema["properties"]["contours"]["items"] = json!({ "type": "object" }),
        |schema| schema["$defs"]["Role"]["oneOf"][0]["const"] = json!("out"),
    ];
    for breach in breaches {
        let mut schema = made("plan");
        breach(&mut schema);
        assert!(!before.is_subset(&lines("plan", &schema)));
    }
    let mut more = made("plan");
    more["properties"]["weather"] = json!({ "type": "string" });
    assert!(
        before.is_subset(&lines("plan", &more)),
        "a new field breaks nothing"
    );
}

/// Calls `see` with each property of a schema: its name and the schema of its value.
fn each_property(at: &Value, see: &mut impl FnMut(&str, &Value)) {
    match at {
        Value::Object(map) => {
            let properties = map.get("properties").and_then(Value::as_object);
            for (name, property) in properties.into_iter().flatten() {
                // A variant with a name is described as a whole.
                let is_variant =
                    map.get("description").is_some() && properties.is_some_and(|all| all.len() == 1);
                let described = if is_variant { at } else { property };
                see(name, described);
            }
            map.values().for_each(|value| each_property(value, see));
        }
        Value::Array(list) => list.iter().for_each(|value| each_property(value, see)),
        _ => {}
    }
}

#[test]
fn every_field_says_what_it_is() {
    let mut silent = BTreeSet::new();
    for (Schema { name, .. }, schema) in all_made() {
        each_property(&schema, &mut |field, property| {
            let said = property["description"].as_str().unwrap_or_default();
            // Links and names of the code mean nothing to a reader of JSON.
            let foreign = said.contains("[`") || said.contains("::") || said.contains("`None`");
            if said.is_empty() || foreign {
                silent.insert(format!("{name}: {field}: {said:?}"));
            }
        });
    }
    assert!(silent.is_empty(), "{silent:#?}");
}

/// Every field is written, so that a reader need not tell absent from null.
#[test]
fn every_field_is_always_there() {
    fn optional(at: &Value, found: &mut BTreeSet<String>) {
        if let (Some(properties), required) = (at["properties"].as_object(), &at["required"]) {
            let required: Vec<&Value> = required.as_array().into_iter().flatten().collect();
            let missing = properties.keys().filter(|name| !required.contains(&&json!(name)));
            found.extend(missing.cloned());
        }
        match at {
            Value::Object(map) => map.values().for_each(|value| optional(value, found)),
            Value::Array(list) => list.iter().for_each(|value| optional(value, found)),
            _ => {}
        }
    }
    for (Schema { name, .. }, schema) in all_made().filter(|(schema, _)| schema.name != "job") {
        let mut found = BTreeSet::new();
        optional(&schema, &mut found);
        assert!(found.is_empty(), "{name}: {found:?}");
    }
}
