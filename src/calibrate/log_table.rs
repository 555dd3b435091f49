//! A log in CSV with a heading row, as rows of text: what all logs of the shop share.

use csv::StringRecord;
use serde::Serialize;

use crate::shop::nearest;

/// A row or heading of the log that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "UnusableRow"))]
#[error("log, line {line}: {reason}")]
#[non_exhaustive]
pub struct LogFlaw {
    /// Number of the line, from 1.
    pub line: usize,
    /// What is wrong and what would be right.
    pub reason: String,
}

impl LogFlaw {
    pub(crate) const fn new(line: usize, reason: String) -> Self {
        Self { line, reason }
    }
}

/// No number of a log is larger, whatever its unit.
const LARGEST: f64 = 1e9;

/// A log as rows of text.
pub(crate) struct LogTable {
    /// The headings, in small letters.
    pub(crate) heads: Vec<String>,
    /// The rows with their lines, from 1, or what is wrong with them.
    rows: Vec<(usize, Result<StringRecord, String>)>,
}

impl LogTable {
    /// Reads the rows of a log; a mark of the byte order before them is passed over.
    ///
    /// # Errors
    /// Where it has no headings that can be read.
    pub(crate) fn read(text: &str) -> Result<Self, LogFlaw> {
        let text = text.trim_start_matches('\u{feff}');
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .flexible(true)
            .from_reader(text.as_bytes());
        let heads = match reader.headers() {
            Ok(heads) => heads.iter().map(str::to_lowercase).collect(),
            Err(error) => return Err(LogFlaw::new(1, error.to_string())),
        };
        let mut lines = LineCount {
            text,
            byte: 0,
            line: 1,
        };
        let rows = reader.records().enumerate().map(|(i, record)| match record {
            Ok(record) => {
                let line = record.position().map_or(i + 2, |at| lines.of(at.byte() as usize));
                (line, Ok(record))
            }
            Err(error) => (i + 2, Err(error.to_string())),
        });
        let rows = rows.collect();
        Ok(Self { heads, rows })
    }

    /// Whether it has a column.
    pub(crate) fn has(&self, column: &str) -> bool {
        self.heads.iter().any(|head| head == column)
    }

    /// Returns the headings that are none of `known`.
    pub(crate) fn further(&self, known: &[&str]) -> Vec<&str> {
        let heads = self.heads.iter().map(String::as_str);
        heads
            .filter(|head| !head.is_empty() && !known.contains(head))
            .collect()
    }

    /// Returns a flaw for each column of `needed` that it lacks; one of `further` may be meant.
    pub(crate) fn missing(&self, needed: &[&str], further: &[&str]) -> Vec<LogFlaw> {
        let missing = needed.iter().filter(|needed| !self.has(needed));
        let flaw = |needed: &&str| {
            let meant = nearest(needed, further.iter().copied());
            let hint = meant.map_or_else(String::new, |meant| format!("; is it `{meant}`?"));
            LogFlaw::new(1, format!("column `{needed}` is missing{hint}"))
        };
        missing.map(flaw).collect()
    }

    /// Returns the rows that can be read, each with its line, and a flaw for each other.
    pub(crate) fn rows(&self) -> impl Iterator<Item = Result<(usize, LogRow<'_>), LogFlaw>> {
        self.rows.iter().map(|(line, row)| match row {
            Ok(record) => {
                let heads = &self.heads;
                Ok((*line, LogRow { heads, record }))
            }
            Err(error) => Err(LogFlaw::new(*line, error.clone())),
        })
    }
}

/// Counts lines from one record to the next, whatever ends them: the reader takes the line feed after a carriage return for part
/// of the next record.
struct LineCount<'a> {
    text: &'a str,
    byte: usize,
    line: usize,
}

impl LineCount<'_> {
    /// Returns the line of a record that begins at this byte, or after the ends of lines there.
    fn of(&mut self, byte: usize) -> usize {
        let rest = self.text.get(byte..).unwrap_or_default();
        let begins = self.text.len() - rest.trim_start_matches(['\r', '\n']).len();
        let passed = self.text.get(self.byte..begins).unwrap_or_default();
        self.line += passed.matches('\n').count();
        self.byte = begins;
        self.line
    }
}

/// A row of a log. Where a column is missing or its cell empty there is nothing.
#[derive(Clone, Copy)]
pub(crate) struct LogRow<'a> {
    heads: &'a [String],
    record: &'a StringRecord,
}

impl LogRow<'_> {
    /// Returns a cell as it is written.
    pub(crate) fn text(&self, head: &str) -> Option<&str> {
        let at = self.heads.iter().position(|known| known == head)?;
        self.record.get(at).filter(|text| !text.is_empty())
    }

    /// Returns a number.
    ///
    /// # Errors
    /// Where the cell holds none.
    pub(crate) fn number(&self, head: &str) -> Result<Option<f64>, String> {
        let Some(text) = self.text(head) else {
            return Ok(None);
        };
        let value = text.parse::<f64>().ok().filter(|value| value.is_finite());
        value
            .map(Some)
            .ok_or_else(|| format!("{head} `{text}` is not a number"))
    }

    /// Returns a number above 0.
    ///
    /// # Errors
    /// Where there is none.
    pub(crate) fn positive(&self, head: &str) -> Result<f64, String> {
        self.number(head)?
            .filter(|value| *value > 0.0 && *value <= LARGEST)
            .ok_or_else(|| format!("{head} has to be a number above 0, at most {LARGEST}"))
    }

    /// Returns a whole number above 0.
    ///
    /// # Errors
    /// Where there is none.
    pub(crate) fn count(&self, head: &str) -> Result<usize, String> {
        let count = self.positive(head)?;
        if count.fract() != 0.0 {
            return Err(format!("{head} {count} is not a whole number"));
        }
        Ok(count as usize)
    }
}
