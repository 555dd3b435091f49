//! Sections as the page sets them: texts in the unit that is shown, and numbers only where a picture is made of them.

use serde::Serialize;

use crate::finding::{Mend, Severity};
use crate::message::{Lengths, Message};
use crate::report::view::{
    AlikeFindings, CellKind, Outlet, Section, SectionPart, Tone, ViewCell, ViewRow, ViewTable,
};

/// A section.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct SectionRow {
    /// Stands for it.
    id: String,
    /// Its heading.
    title: String,
    /// What the heading says of it; empty where nothing.
    note: String,
    /// What it holds, in order.
    parts: Vec<PartRow>,
}

/// A piece of a section.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
enum PartRow {
    /// A heading within the section.
    Heading(String),
    /// A sentence.
    Words(String),
    /// A sentence that has to be seen.
    Alarm(String),
    /// Names with what they are.
    Pairs(Vec<[String; 2]>),
    /// Sentences, one below the other.
    List(Vec<String>),
    /// Rows of a kind.
    Table(TableRow),
    /// What the checks found, by name.
    Findings(Vec<FoundRow>),
}

/// A table.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct TableRow {
    /// Its columns.
    columns: Vec<HeadRow>,
    /// Its rows.
    rows: Vec<CellsRow>,
    /// What is said of the rows that are not listed; null where all are.
    rest: Option<String>,
}

/// A column.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct HeadRow {
    /// Its head, with the unit.
    head: String,
    /// `name`, `words`, `number` or `band`.
    kind: &'static str,
}

/// The cells of a row.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct CellsRow {
    /// One a column.
    cells: Vec<CellRow>,
    /// It adds up what stands above it.
    sum: bool,
}

/// A cell: a text, or a band with its low, expected and high end as printed and as numbers.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(untagged)]
enum CellRow {
    /// A text.
    Text(String),
    /// A band.
    Ends {
        /// As printed; empty where an end is printed as what is expected.
        printed: [String; 3],
        /// Low, expected, high.
        numbers: [f64; 3],
    },
}

/// Findings that are alike.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct FoundRow {
    /// Number of the group.
    number: usize,
    /// What they are called.
    title: String,
    /// How bad the worst of them is.
    severity: Severity,
    /// Why each of its checks is made, and what to do.
    explained: Vec<[&'static str; 2]>,
    /// In how many places.
    places: String,
    /// Those that are written out.
    entries: Vec<FoundEntry>,
    /// Where the others are; empty where there are none.
    others: String,
}

/// A finding.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct FoundEntry {
    /// Where it stands among all findings, from 0.
    index: usize,
    /// What was found, and where on the part.
    says: String,
    /// What to do.
    remedy: String,
    /// Changes of the job that may settle it.
    mends: Vec<MendRow>,
}

/// A change of the job.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct MendRow {
    /// It as an order.
    says: String,
    /// What is put where; null where one of the alternatives says it: a finer wire.
    sets: Option<AssignmentRow>,
}

/// What is put where in a job.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct AssignmentRow {
    /// The key of a job file.
    key: &'static str,
    /// The name under it; null where it has none.
    name: Option<String>,
    /// What is put there, as it is typed.
    value: String,
}

/// Sets sections in a unit, without those that say nothing.
pub(super) fn section_rows(sections: &[Section], lengths: Lengths) -> Vec<SectionRow> {
    let shown = sections.iter().filter(|section| !section.is_empty());
    let rows = shown.map(|section| SectionRow {
        id: section.id.clone(),
        title: section.title.shown(lengths),
        note: section.note.shown(lengths),
        parts: section
            .parts(Outlet::JOB_SHEET)
            .filter_map(|one| part(one, lengths))
            .collect(),
    });
    rows.collect()
}

/// Returns what the page sets of a part; `None` of what it shows in its own way: pictures, questions, traces.
fn part(part: &SectionPart, lengths: Lengths) -> Option<PartRow> {
    let text = |message: &Message| message.shown(lengths);
    Some(match part {
        SectionPart::Heading(words) => PartRow::Heading(text(words)),
        SectionPart::Words(Tone::Alarm, words) => PartRow::Alarm(text(words)),
        SectionPart::Words(_, words) => PartRow::Words(text(words)),
        SectionPart::Pairs(pairs) => PartRow::Pairs(
            pairs
                .iter()
                .map(|pair| [text(&pair.name), text(&pair.value)])
                .collect(),
        ),
        SectionPart::List(items) => PartRow::List(items.iter().map(text).collect()),
        SectionPart::Table(rows) => PartRow::Table(table(rows, lengths)),
        SectionPart::Findings(groups) => {
            PartRow::Findings(groups.iter().map(|group| found(group, lengths)).collect())
        }
        SectionPart::Picture(_)
        | SectionPart::Blanks(_)
        | SectionPart::DrawingSheet
        | SectionPart::Questions(_)
        | SectionPart::Folded(..) => {
            return None;
        }
    })
}

fn table(table: &ViewTable, lengths: Lengths) -> TableRow {
    let columns = table.columns(Outlet::JOB_SHEET);
    let shown = table.rows(Outlet::JOB_SHEET);
    let cells = |row: &ViewRow| CellsRow {
        cells: columns
            .iter()
            .map(|(at, column)| cell(&row.cells[*at], column.kind, lengths))
            .collect(),
        sum: row.is_sum,
    };
    TableRow {
        rows: shown.iter().map(cells).collect(),
        rest: table.rest(shown.len()).map(|rest| rest.shown(lengths)),
        columns: columns
            .iter()
            .map(|(_, column)| HeadRow {
                head: column.head(lengths),
                kind: match column.kind {
                    CellKind::Name => "name",
                    CellKind::Words => "words",
                    CellKind::Number => "number",
                    CellKind::Band => "band",
                },
            })
            .collect(),
    }
}

/// A band is told by its ends where its column has room for them.
fn cell(cell: &ViewCell, kind: CellKind, lengths: Lengths) -> CellRow {
    match cell {
        ViewCell::Quantity(value) if kind == CellKind::Band && value.value().low != value.value().high => {
            let band = value.value();
            CellRow::Ends {
                printed: value.cells(lengths).map(Option::unwrap_or_default),
                numbers: [band.low, band.expected, band.high],
            }
        }
        _ => CellRow::Text(cell.text(lengths)),
    }
}

fn mend_row(mend: &Mend, lengths: Lengths) -> MendRow {
    MendRow {
        says: mend.says().shown(lengths),
        sets: mend.assignment().map(|(key, name, value)| AssignmentRow {
            key,
            name: name.map(str::to_owned),
            value,
        }),
    }
}

fn found(group: &AlikeFindings, lengths: Lengths) -> FoundRow {
    let text = |message: &Message| message.shown(lengths);
    let entries = group.entries.iter().map(|entry| FoundEntry {
        index: entry.index,
        says: text(&entry.says),
        remedy: text(&entry.remedy),
        mends: entry.mends.iter().map(|mend| mend_row(mend, lengths)).collect(),
    });
    FoundRow {
        number: group.number,
        title: group.title.clone(),
        severity: group.severity,
        explained: group.explained.clone(),
        places: text(&group.places),
        entries: entries.collect(),
        others: text(&group.others),
    }
}
