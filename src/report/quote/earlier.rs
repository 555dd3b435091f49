//! Rows that an earlier run wrote, perhaps one of another version: read by the names of their columns. What this version does not know
//! is left out. A row that lacks a column is read without a key, so that it never counts as done.

use csv::{ReaderBuilder, StringRecord};
use serde_json::{Map, Value};

use super::{QuoteRow, names};
use crate::message::Lengths;
use crate::report::csv::cell_text;
use crate::units::MM_PER_INCH;

/// Without these a table is none of quotes.
const NEEDED: [&str; 3] = ["file", "status", "key"];

/// The columns of an earlier table in CSV.
#[derive(Debug)]
#[non_exhaustive]
pub struct Columns {
    /// By the names of [`QuoteRow`].
    names: StringRecord,
    lengths: Lengths,
    /// Those of ours that are missing.
    missing: StringRecord,
}

impl Columns {
    /// Reads the first line of a table with such lengths; `None` where it is none of quotes, or one in the other unit.
    pub fn read(head: &str, lengths: Lengths) -> Option<Self> {
        let in_mm = names();
        let ours = match lengths {
            Lengths::Mm => in_mm.map(str::to_owned),
            Lengths::Inch => in_mm.map(|name| name.replace("_mm", "_in")),
        };
        let shown = record(head)?;
        let has = |name: &str| shown.iter().any(|shown| shown == name);
        // Where both units have a name for it, a length without the one and with the other is of the other.
        let other_unit = in_mm.iter().zip(&ours).any(|(mm, ours)| {
            let other = match lengths {
                Lengths::Mm => mm.replace("_mm", "_in"),
                Lengths::Inch => (*mm).to_owned(),
            };
            other != *ours && has(&other) && !has(ours)
        });
        if other_unit || !NEEDED.iter().all(|name| has(name)) {
            return None;
        }
        let name_of = |shown: &str| {
            let at = ours.iter().position(|name| name == shown);
            at.map_or(shown, |at| in_mm[at]).to_owned()
        };
        let missing = ours.iter().zip(in_mm).filter(|(name, _)| !has(name));
        Some(Self {
            missing: missing.map(|(_, name)| name).collect(),
            names: shown.iter().map(name_of).collect(),
            lengths,
        })
    }

    /// Reads a line below them; `None` where it is no row.
    pub fn row(&self, line: &str) -> Option<QuoteRow> {
        let mut record = record(line)?;
        if record.len() != self.names.len() {
            return None;
        }
        if line.contains('\'') {
            record = record.iter().map(cell_text).collect();
        }
        let mut row: QuoteRow = if self.missing.is_empty() {
            record.deserialize(Some(&self.names)).ok()?
        } else {
            let names: StringRecord = self.names.iter().chain(&self.missing).collect();
            record.extend(self.missing.iter().map(|_| ""));
            record.deserialize(Some(&names)).ok()?
        };
        if !self.missing.is_empty() {
            row.key.clear();
        }
        let mm = match self.lengths {
            Lengths::Mm => return Some(row),
            Lengths::Inch => MM_PER_INCH,
        };
        Some(QuoteRow {
            perimeter_mm: row.perimeter_mm.map(|length| length * mm),
            cut_area_mm2: row.cut_area_mm2.map(|area| area * mm * mm),
            pass_area_mm2: row.pass_area_mm2.map(|area| area * mm * mm),
            wire_mm: row.wire_mm.map(|length| length * mm),
            thickness_mm: row.thickness_mm.map(|length| length * mm),
            ..row
        })
    }
}

/// Reads a line of a table in JSON; `None` where it is no row.
pub fn from_json(line: &str) -> Option<QuoteRow> {
    let mut fields: Map<String, Value> = serde_json::from_str(line).ok()?;
    if !NEEDED.iter().all(|name| fields.contains_key(*name)) {
        return None;
    }
    if names().iter().all(|name| fields.contains_key(*name)) {
        return serde_json::from_str(line).ok();
    }
    let blank = serde_json::to_value(QuoteRow::default()).ok()?;
    for (name, value) in blank.as_object()? {
        fields.entry(name).or_insert_with(|| value.clone());
    }
    fields.insert("key".to_owned(), "".into());
    serde_json::from_value(fields.into()).ok()
}

/// Returns the cells of a line.
fn record(line: &str) -> Option<StringRecord> {
    let mut reader = ReaderBuilder::new()
        .has_headers(false)
        .from_reader(line.as_bytes());
    reader.records().next()?.ok()
}

#[cfg(test)]
mod tests {
    use super::super::columns;
    use super::*;
    use crate::job::JobFile;
    use crate::report::sample;

    fn columns_of(lengths: Lengths) -> Columns {
        Columns::read(&columns(lengths), lengths).expect("a table of ours")
    }

    #[test]
    fn a_row_comes_back_from_either_line() {
        let row = QuoteRow::of_plan("a, \"b\".dxf", &sample::plan(), "7f".into());
        assert_eq!(from_json(&row.json()).as_ref(), Some(&row));
        for lengths in [Lengths::Mm, Lengths::Inch] {
            let line = row.csv(lengths);
            let read = columns_of(lengths).row(&line).expect("a row");
            assert_eq!((&read.file, read.csv(lengths)), (&row.file, line));
        }
        let job = JobFile {
            material: Some("@steel".to_owned()),
            ..JobFile::default()
        };
        let refused = QuoteRow::refused("=1+1.dxf", "-3:\r\nno \"number\"; +1", &job, "0".into());
        assert_eq!(refused.csv(Lengths::Mm).matches('\n').count(), 1);
        let line = refused.csv(Lengths::Mm);
        assert!(line.starts_with("'=1+1.dxf,refused,\"'-3:"), "{line}");
        assert!(line.contains("; '+1\",") && line.contains(",'@steel,"), "{line}");
        let read = columns_of(Lengths::Mm).row(&line).expect("a row");
        assert_eq!((&read.file, read.minutes), (&refused.file, None));
        assert_eq!(read.material, "@steel");
        assert!(refused.json().contains("\"file\":\"=1+1.dxf\""));
        assert_eq!(columns_of(Lengths::Mm).row("file,status\r\n"), None);
        assert_eq!(from_json("{\"file\": \"a\""), None);
    }

    /// With one column more, in another order and with one column less, in CSV and in JSON.
    #[test]
    fn columns_go_by_their_names() {
        let row = QuoteRow::refused("a.dxf", "no", &JobFile::default(), "k1".into());
        let cells = |line: &str| line.trim_end().split(',').map(str::to_owned).collect::<Vec<_>>();
        let (mut names, mut values) = (cells(&columns(Lengths::Mm)), cells(&row.csv(Lengths::Mm)));
        names.insert(4, "hours".into());
        values.insert(4, "12".into());
        names.reverse();
        values.reverse();
        let more = Columns::read(&names.join(","), Lengths::Mm).expect("a table of ours");
        assert_eq!(more.row(&values.join(",")).as_ref(), Some(&row));
        let at = names.iter().position(|name| name == "minutes").expect("a column");
        names.remove(at);
        values.remove(at);
        let fewer = Columns::read(&names.join(","), Lengths::Mm).expect("a table of ours");
        let without_key = QuoteRow {
            key: String::new(),
            ..row.clone()
        };
        assert_eq!(fewer.row(&values.join(",")).as_ref(), Some(&without_key));

        let mut fields: Map<String, Value> = serde_json::from_str(&row.json()).expect("a row");
        fields.insert("hours".into(), 12.into());
        let text = |fields: &Map<String, Value>| serde_json::to_string(fields).expect("JSON");
        assert_eq!(from_json(&text(&fields)), Some(row));
        fields.remove("minutes");
        assert_eq!(from_json(&text(&fields)), Some(without_key));
    }

    #[test]
    fn a_table_in_the_other_unit_or_of_something_else_is_none() {
        assert!(Columns::read(&columns(Lengths::Inch), Lengths::Mm).is_none());
        assert!(Columns::read(&columns(Lengths::Mm), Lengths::Inch).is_none());
        assert!(Columns::read("file,thickness\r\n", Lengths::Mm).is_none());
        assert_eq!(from_json("{\"file\": \"a.dxf\", \"thickness_mm\": 3}"), None);
    }
}
