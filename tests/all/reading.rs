//! The reader, against files written by hand for one oddity each, and against real drawings.

mod binary;
mod blocks;
mod cases;
mod code_pages;
mod entities;
mod foreign;
mod hostile;
mod mutations;
mod numbers;

mod real;
mod sections;
mod truncated;

use std::path::Path;

use kerfwright::dxf::document::{Document, Entity, NoticeKind};
use kerfwright::dxf::{self, Error};

use crate::common::fixture_bytes;

fn case_bytes(name: &str) -> Vec<u8> {
    fixture_bytes(Path::new("cases").join(name))
}

fn case(name: &str) -> Document {
    dxf::read(&case_bytes(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn case_error(name: &str) -> Error {
    dxf::read(&case_bytes(name)).expect_err(name)
}

/// A file of words set apart by blanks, each of which becomes a line.
fn lines(words: &str) -> Vec<u8> {
    let mut lines = words.split_whitespace().collect::<Vec<_>>().join("\n");
    lines.push('\n');
    lines.into_bytes()
}

/// A file whose ENTITIES section holds these words, each a line.
fn drawing_bytes(entities: &str) -> Vec<u8> {
    lines(&format!("0 SECTION 2 ENTITIES {entities} 0 ENDSEC 0 EOF"))
}

fn drawing(entities: &str) -> Document {
    dxf::read(&drawing_bytes(entities)).unwrap_or_else(|error| panic!("{entities}: {error}"))
}

fn drawing_error(entities: &str) -> Error {
    dxf::read(&drawing_bytes(entities)).expect_err(entities)
}

/// The only entity of a drawing.
fn only(document: &Document) -> &Entity {
    match document.entities.as_slice() {
        [entity] => entity,
        entities => panic!("one entity was expected, not {}", entities.len()),
    }
}

fn notices(document: &Document) -> Vec<NoticeKind> {
    document
        .notices
        .iter()
        .map(|notice| notice.kind.clone())
        .collect()
}

/// How often each entity type stands in ENTITIES, by the name that DXF gives it.
fn count_by_type(document: &Document) -> std::collections::BTreeMap<String, usize> {
    let mut counts = std::collections::BTreeMap::new();
    for entity in &document.entities {
        *counts.entry(entity.shape.type_name().to_owned()).or_default() += 1;
    }
    counts
}
