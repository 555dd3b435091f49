use serde::Serialize;

use super::SCHEMA;
use crate::report::html::cautions::CAUTIONS;
use crate::shop::{Book, Number};
use crate::units::unit_names;

/// What can be asked for: the entries of the book by name.
#[derive(Serialize)]
pub(super) struct ChoicesDocument<'a> {
    schema: u32,
    materials: Vec<Named<'a>>,
    wires: Vec<WireRow<'a>>,
    machines: Vec<Named<'a>>,
    default_machine: &'a str,
    default_wire_kind: &'a str,
    default_finish: &'a str,
    default_tolerance: &'a str,
    most_passes: usize,
    room_swing_k: &'a Number,
    units: Vec<&'static str>,
    cautions: &'static [&'static str],
}

#[derive(Serialize)]
struct Named<'a> {
    name: &'a str,
    title: &'a str,
}

#[derive(Serialize)]
struct WireRow<'a> {
    diameter_mm: f64,
    kind: &'a str,
    title: &'a str,
}

impl<'a> ChoicesDocument<'a> {
    pub(super) fn new(book: &'a Book) -> Self {
        let materials = book.materials.values().map(|m| (&m.name, &m.title));
        let machines = book.machines.values().map(|m| (&m.name, &m.title));
        let named = |(name, title): (&'a String, &'a String)| Named { name, title };
        Self {
            schema: SCHEMA,
            materials: materials.map(named).collect(),
            wires: book
                .wires()
                .map(|wire| WireRow {
                    diameter_mm: wire.size.diameter_mm,
                    kind: &wire.kind.name,
                    title: &wire.kind.title,
                })
                .collect(),
            machines: machines.map(named).collect(),
            default_machine: &book.default_machine,
            default_wire_kind: &book.wire.kind,
            default_finish: &book.default_finish,
            default_tolerance: &book.default_tolerance,
            most_passes: book.most_passes(),
            room_swing_k: &book.room.room_swing_k,
            units: unit_names().collect(),
            cautions: &CAUTIONS,
        }
    }
}
