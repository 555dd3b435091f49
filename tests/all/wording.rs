//! Texts say what a toolmaker says: words that were replaced stay out, and no sheet, job sheet or page says what is typed on the command
//! line.

use std::collections::BTreeSet;
use std::fs;

use kerfwright::check::ALL;
use kerfwright::job::{JobFile, JobPart};
use kerfwright::plan::{Plan, Planner};
use kerfwright::report::json::{BesideDrawing, Shown};
use kerfwright::report::{Lengths, html, json, svg};
use serde_json::Value;

use crate::architecture::sources;
use crate::common::{book, drawings_in, fixture, root};

/// What stands in no text, with what stands there instead.
fn replaced() -> Vec<(&'static str, &'static str)> {
    let lines = include_str!("wording.tsv").lines();
    let lines = lines.filter(|line| !line.starts_with('#'));
    lines
        .map(|line| line.split_once('\t').expect("a word and a better one"))
        .collect()
}

/// Returns what stands between quotes in code, the lines of a text that goes on joined.
fn literals(code: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut rest = code;
    while let Some(at) = rest.find('"') {
        let is_character = rest[..at].ends_with('\'') && rest[at + 1..].starts_with('\'');
        rest = &rest[at + 1..];
        if is_character {
            continue;
        }
        let mut text = String::new();
        let mut letters = rest.char_indices();
        let end = loop {
            match letters.next() {
                None => return found,
                Some((at, '"')) => break at,
                Some((_, '\\')) => match letters.next() {
                    Some((at, '\n')) => {
                        let indent = rest[at + 1..].len() - rest[at + 1..].trim_start().len();
                        letters.by_ref().take(indent).for_each(drop);
                    }
                    other => text.extend(other.map(|(_, letter)| letter)),
                },
                Some((_, letter)) => text.push(letter),
            }
        };
        found.push(text);
        rest = &rest[end + 1..];
    }
    found
}

#[test]
fn the_finder_of_texts_sees_every_form() {
    let code = "f('\"', \"one \\\"two\\\"\"); g(\"three \\\n        four\");";
    assert_eq!(literals(code), ["one \"two\"", "three four"]);
    assert!(in_text("It is Cut By itself.", "by itself"));
    assert!(!in_text("nearby itself", "by itself"));
}

fn in_text(text: &str, words: &str) -> bool {
    let text = text.to_lowercase();
    text.match_indices(words).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + words.len()..].chars().next();
        ![before, after].into_iter().flatten().any(char::is_alphanumeric)
    })
}

/// Every text of ours, with where it stands.
fn fixed_texts() -> Vec<(String, String)> {
    let mut texts = Vec::new();
    for source in sources() {
        let lines: Vec<&str> = source.lines.iter().map(|(_, line)| line.as_str()).collect();
        let path = source.path.display().to_string();
        texts.extend(
            literals(&lines.join("\n"))
                .into_iter()
                .map(|text| (path.clone(), text)),
        );
    }
    let docs = [
        "README.md",
        "docs/guide.md",
        "docs/manual.md",
        "docs/checks.md",
        "docs/gallery.md",
        "docs/separation.md",
    ];
    let page = root().join("src/serve/page");
    let scripts = fs::read_dir(&page)
        .expect("the page")
        .map(|entry| entry.expect("a file").path());
    let data = fs::read_dir(root().join("src/data"))
        .expect("the book")
        .map(|entry| entry.expect("a file").path());
    let files = docs
        .map(|doc| root().join(doc))
        .into_iter()
        .chain(scripts)
        .chain(data);
    for file in files.filter(|file| file.is_file()) {
        let text = fs::read_to_string(&file).expect("a text");
        let is_script = file.extension().is_some_and(|end| end == "js");
        let name = file.display().to_string();
        let lines = text
            .lines()
            .filter(|line| !is_script || !line.trim_start().starts_with(['/', '*']));
        // Style sheets hold no texts.
        if file.extension().is_none_or(|end| end != "css") {
            texts.extend(lines.map(|line| (name.clone(), line.to_owned())));
        }
    }
    texts
}

#[test]
fn words_that_were_replaced_stand_in_no_text() {
    let texts = fixed_texts();
    assert!(texts.len() > 5_000, "only {} texts were seen", texts.len());
    let mut wrong = Vec::new();
    for (old, better) in replaced() {
        let holding = texts.iter().filter(|(_, text)| in_text(text, old));
        wrong.extend(holding.map(|(place, text)| format!("{place}: “{old}”, write “{better}”: {text}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What is typed: names of checks, keys of job files and of the book, options.
fn typed() -> BTreeSet<String> {
    let mut typed: BTreeSet<String> = ALL.iter().map(|check| check.name.to_owned()).collect();
    typed.extend(JobFile::KEYS.iter().map(|key| key.key.to_owned()));
    typed.extend(JobPart::KEYS.iter().map(|key| key.key.to_owned()));
    let data = fs::read_dir(root().join("src/data")).expect("the book");
    for file in data.map(|entry| entry.expect("a file").path()) {
        let text = fs::read_to_string(file).expect("a text");
        let keys = text.lines().filter_map(|line| line.split_once(" = "));
        typed.extend(keys.map(|(key, _)| key.trim().to_owned()));
    }
    // A single word is a word like others.
    typed.retain(|name| {
        name.contains(['_', '-']) && name.chars().all(|c| c.is_ascii_lowercase() || "_-".contains(c))
    });
    typed
}

/// Returns what is read of a page or picture: no tags, styles and scripts.
fn read_of(markup: &str) -> String {
    let mut text = String::new();
    let mut rest = markup;
    while let Some(at) = rest.find('<') {
        text.push_str(&rest[..at]);
        text.push('\n');
        rest = &rest[at..];
        let skipped = ["style", "script"]
            .iter()
            .find(|tag| rest[1..].starts_with(**tag));
        let end = skipped.map_or(">".to_owned(), |tag| format!("</{tag}>"));
        rest = rest.find(&end).map_or("", |at| &rest[at + end.len()..]);
    }
    text + rest
}

fn texts_of(value: &Value, texts: &mut Vec<String>) {
    match value {
        Value::String(text) => texts.push(text.clone()),
        Value::Array(items) => items.iter().for_each(|item| texts_of(item, texts)),
        Value::Object(fields) => fields
            .iter()
            .filter(|(name, _)| !["id", "sets"].contains(&name.as_str()))
            .for_each(|(_, value)| texts_of(value, texts)),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// What is read of a plan without a command line; the job sheet in full where that is asked for.
fn papers(plan: &Plan, in_full: bool) -> Vec<(&'static str, String)> {
    let page = json::page(&Shown::Planned(plan), Lengths::Mm, BesideDrawing::default());
    let page: Value = serde_json::from_str(&page).expect("JSON");
    let mut texts = Vec::new();
    texts_of(&page["sections"], &mut texts);
    let alternatives = in_full.then(|| plan.alternatives().expect("it was planned"));
    vec![
        ("page", texts.join("\n")),
        ("sheet", read_of(&svg::plan(plan, Lengths::Mm))),
        ("job sheet", read_of(&html::plan(plan, alternatives.as_ref()))),
    ]
}

#[test]
fn no_paper_says_what_is_typed() {
    /// Other wires and passes are planned for a job sheet in full, which takes longer than the plan.
    const EVERY: usize = 12;
    let typed = typed();
    assert!(typed.len() > 150, "only {} names", typed.len());
    let mut wrong = BTreeSet::new();
    let mut seen = 0;
    for folder in ["checks", "clock", "questions", "shapes"] {
        for (i, drawing) in drawings_in(&fixture(folder)).into_iter().enumerate() {
            let bytes = fs::read(&drawing).expect("a drawing");
            let job = JobFile::new("tool-steel", 30.0)
                .wire_mm(0.25)
                .passes(3_usize)
                .tolerance("±0.01");
            let Ok(plan) = Planner::new(book()).job(&job).plan("part.dxf", &bytes) else {
                continue;
            };
            for (paper, text) in papers(&plan, i % EVERY == 0) {
                seen += 1;
                let is_typed = |word: &str| word.starts_with("--") || typed.contains(word);
                let words = text.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == '-'));
                wrong.extend(
                    words
                        .filter(|word| is_typed(word))
                        .map(|word| format!("{paper}: {word}")),
                );
                let quoted = text.lines().find(|line| line.contains('`'));
                wrong.extend(quoted.map(|line| format!("{paper}: {line}")));
            }
        }
    }
    assert!(seen > 200, "only {seen} papers were seen");
    let wrong: Vec<String> = wrong.into_iter().collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
