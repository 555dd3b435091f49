use serde::Serialize;

use super::PAGE_SCHEMA;
use crate::job::{Asked, JobFile, Key, KeyGroup};
use crate::report::cautions::{IN_SHORT, all_cautions};
use crate::shop::{Book, Number};

/// What can be asked for: the entries of the book by name.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct ChoicesDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = PAGE_SCHEMA)))]
    schema: u32,
    /// Materials of the book.
    materials: Vec<BookEntryRow<'a>>,
    /// Wires of the book.
    wires: Vec<WireChoiceRow<'a>>,
    /// Machines of the book.
    machines: Vec<BookEntryRow<'a>>,
    /// Name of the machine that is taken when none is asked for.
    default_machine: &'a str,
    /// Kind of the wire that is taken when none is asked for.
    default_wire_kind: &'a str,
    /// Finish that is taken when none is asked for.
    default_finish: &'a str,
    /// Tolerance that is taken when none is asked for.
    default_tolerance: &'a str,
    /// Most passes of any recipe.
    most_passes: usize,
    /// Temperature of the room from day to night, K.
    room_swing_k: &'a Number,
    /// Units that a drawing may be given in on the page; others are read where a drawing declares them.
    units: Vec<&'static str>,
    /// Keys of a job that are one word or number.
    keys: Vec<KeyRow>,
    /// Cautions that stand on every job sheet, a sentence each.
    cautions: Vec<&'static str>,
    /// The same in short.
    cautions_short: String,
}

/// A key of a job.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct KeyRow {
    /// Its name.
    key: &'static str,
    /// What it is about: `job`, `shop`, `holding`, `wire` or `drawing`.
    about: &'static str,
    /// What it says.
    says: &'static str,
    /// What its value is: `words`, `yes`, `text`, `length` (mm), or `number`.
    takes: &'static str,
    /// The words that it may be.
    words: Vec<&'static str>,
}

impl KeyRow {
    fn of(key: &Key<JobFile>) -> Self {
        let words = (key.words)();
        let takes = match key.value_name {
            _ if !words.is_empty() => "words",
            "" => "yes",
            _ if key.is_text() => "text",
            _ if key.without_unit().is_some() => "length",
            _ => "number",
        };
        Self {
            key: key.key,
            about: match key.group {
                KeyGroup::Job => "job",
                KeyGroup::Shop => "shop",
                KeyGroup::Holding => "holding",
                KeyGroup::Wire => "wire",
                KeyGroup::Drawing => "drawing",
            },
            says: key.help,
            takes,
            words,
        }
    }
}

/// An entry of the book.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "Named"))]
struct BookEntryRow<'a> {
    /// The word to ask for it with.
    name: &'a str,
    /// What it is called.
    title: &'a str,
}

/// A wire of the book.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "WireRow"))]
struct WireChoiceRow<'a> {
    /// Diameter, mm.
    diameter_mm: f64,
    /// The word to ask for its kind with.
    kind: &'a str,
    /// What its kind is called.
    title: &'a str,
}

impl<'a> ChoicesDocument<'a> {
    pub(super) fn new(book: &'a Book) -> Self {
        let materials = book.materials.values().map(|m| (&m.name, &m.title));
        let machines = book.machines.values().map(|m| (&m.name, &m.title));
        let named = |(name, title): (&'a String, &'a String)| BookEntryRow { name, title };
        Self {
            schema: PAGE_SCHEMA,
            materials: materials.map(named).collect(),
            wires: book
                .wires()
                .map(|wire| WireChoiceRow {
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
            units: vec!["mm", "inch", "cm", "m", "um"],
            keys: JobFile::KEYS
                .iter()
                .filter(|key| key.asked != Asked::NotYet)
                .map(KeyRow::of)
                .collect(),
            cautions: all_cautions(),
            cautions_short: IN_SHORT.join(" "),
        }
    }
}
