//! The shop's log of finished jobs, one row a job.

use serde::Serialize;

use crate::estimate::Time;
use crate::shop::{MinutesHold, UnknownMinutes, nearest};
use crate::units::UM_PER_MM;

/// A finished job.
#[derive(Clone, Debug, PartialEq)]
pub struct LogJob {
    /// Line of the log, from 1.
    pub line: usize,
    /// Length cut, mm, one pass; `None` where the log gives a drawing to take it from.
    pub length_mm: Option<f64>,
    /// Contours that the length is of.
    pub contours: usize,
    /// The drawing it was cut from.
    pub drawing: Option<String>,
    /// What is planned for the drawing with the book as it stands without calibrations; `None` where the log gives a length.
    pub planned: Option<Time>,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Name of the material.
    pub material: String,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind; the book's default when `None`.
    pub wire_kind: Option<String>,
    /// Number of passes.
    pub passes: usize,
    /// Machine that it was cut on.
    pub machine: Option<String>,
    /// Real minutes.
    pub minutes: f64,
    /// What they hold.
    pub minutes_hold: MinutesHold,
    /// Ra as measured, µm.
    pub ra_um: Option<f64>,
    /// What the offset had to be corrected by, away from the wall, mm.
    pub offset_correction_mm: Option<f64>,
}

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

/// The columns of a log; those in the second list may be left out.
const NEEDED: [&str; 5] = ["thickness_mm", "material", "wire_mm", "passes", "minutes"];
const OPTIONAL: [&str; 8] = [
    "length_mm",
    "drawing",
    "contours",
    "machine",
    "minutes_hold",
    "wire_kind",
    "ra_um",
    "offset_correction_um",
];

/// A column of the log that the fit makes no use of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "FurtherColumnRow"))]
#[non_exhaustive]
pub struct FurtherColumn {
    /// Its heading, in small letters.
    pub name: String,
    /// Rows that have something in it.
    pub filled: usize,
}

/// A log as read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JobLog {
    /// The jobs.
    pub jobs: Vec<LogJob>,
    /// Rows and headings that cannot be used.
    pub flaws: Vec<LogFlaw>,
    /// Columns that are not used.
    pub further: Vec<FurtherColumn>,
    /// Nothing says what the minutes hold, and no row was read for that reason.
    pub leaves_minutes_open: bool,
}

/// No number of a finished job is larger, whatever its unit.
const LARGEST: f64 = 1e9;

/// Reads a log in CSV, with a heading row. Rows that cannot be used come back as flaws beside those that can. `hold` is what
/// the minutes hold of rows that do not say so themselves.
pub fn read_log(text: &str, hold: Option<MinutesHold>) -> JobLog {
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let flaw = |line: usize, reason: String| LogFlaw { line, reason };
    let heads = match reader.headers() {
        Ok(heads) => heads.iter().map(str::to_lowercase).collect::<Vec<_>>(),
        Err(error) => {
            return JobLog {
                flaws: vec![flaw(1, error.to_string())],
                ..JobLog::default()
            };
        }
    };
    let mut flaws = Vec::new();
    let mut further = further_columns(&heads);
    for needed in NEEDED
        .iter()
        .filter(|needed| !heads.iter().any(|head| head == *needed))
    {
        let meant = nearest(needed, further.iter().map(|column| column.name.as_str()));
        let hint = meant.map_or_else(String::new, |meant| format!("; is it `{meant}`?"));
        flaws.push(flaw(1, format!("column `{needed}` is missing{hint}")));
    }
    if !heads.iter().any(|head| head == "length_mm" || head == "drawing") {
        flaws.push(flaw(
            1,
            "one of the columns `length_mm` and `drawing` is needed".to_owned(),
        ));
    }
    let leaves_minutes_open = hold.is_none() && !heads.iter().any(|head| head == "minutes_hold");
    if leaves_minutes_open || !flaws.is_empty() {
        return JobLog {
            flaws,
            further,
            leaves_minutes_open,
            ..JobLog::default()
        };
    }
    let mut jobs = Vec::new();
    let mut lines = LineCount {
        text,
        byte: 0,
        line: 1,
    };
    for (i, record) in reader.records().enumerate() {
        match record {
            Ok(record) => {
                let line = record.position().map_or(i + 2, |at| lines.of(at.byte() as usize));
                let row = LogRow {
                    heads: &heads,
                    record: &record,
                };
                for column in &mut further {
                    column.filled += usize::from(row.text(&column.name).is_some());
                }
                match row.job(line, hold) {
                    Ok(job) => jobs.push(job),
                    Err(reason) => flaws.push(flaw(line, reason)),
                }
            }
            Err(error) => flaws.push(flaw(i + 2, error.to_string())),
        }
    }
    JobLog {
        jobs,
        flaws,
        further,
        leaves_minutes_open,
    }
}

fn further_columns(heads: &[String]) -> Vec<FurtherColumn> {
    let known = || NEEDED.into_iter().chain(OPTIONAL);
    let further = heads
        .iter()
        .filter(|head| !head.is_empty() && !known().any(|known| known == *head));
    let column = |head: &String| FurtherColumn {
        name: head.clone(),
        filled: 0,
    };
    further.map(column).collect()
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

struct LogRow<'a> {
    heads: &'a [String],
    record: &'a csv::StringRecord,
}

impl LogRow<'_> {
    fn text(&self, head: &str) -> Option<&str> {
        let at = self.heads.iter().position(|known| known == head)?;
        self.record.get(at).filter(|text| !text.is_empty())
    }

    fn number(&self, head: &str) -> Result<Option<f64>, String> {
        let Some(text) = self.text(head) else {
            return Ok(None);
        };
        let value = text.parse::<f64>().ok().filter(|value| value.is_finite());
        value
            .map(Some)
            .ok_or_else(|| format!("{head} `{text}` is not a number"))
    }

    fn positive(&self, head: &str) -> Result<f64, String> {
        self.number(head)?
            .filter(|value| *value > 0.0 && *value <= LARGEST)
            .ok_or_else(|| format!("{head} has to be a number above 0, at most {LARGEST}"))
    }

    fn count(&self, head: &str) -> Result<usize, String> {
        let count = self.positive(head)?;
        if count.fract() != 0.0 {
            return Err(format!("{head} {count} is not a whole number"));
        }
        Ok(count as usize)
    }

    fn job(&self, line: usize, hold: Option<MinutesHold>) -> Result<LogJob, String> {
        let length_mm = match self.text("length_mm") {
            Some(_) => Some(self.positive("length_mm")?),
            None => None,
        };
        let drawing = self.text("drawing").map(str::to_owned);
        if length_mm.is_none() && drawing.is_none() {
            return Err("neither a length nor a drawing".to_owned());
        }
        let contours = self.text("contours").map_or(Ok(1), |_| self.count("contours"))?;
        let said = self.text("minutes_hold").map(str::parse).transpose();
        let minutes_hold = said.map_err(|error: UnknownMinutes| error.to_string())?.or(hold);
        Ok(LogJob {
            line,
            length_mm,
            contours,
            drawing,
            planned: None,
            thickness_mm: self.positive("thickness_mm")?,
            material: self.text("material").ok_or("material is missing")?.to_owned(),
            wire_mm: self.positive("wire_mm")?,
            wire_kind: self.text("wire_kind").map(str::to_owned),
            passes: self.count("passes")?,
            machine: self.text("machine").map(str::to_owned),
            minutes: self.positive("minutes")?,
            minutes_hold: minutes_hold.ok_or("minutes_hold does not say what the minutes hold")?,
            ra_um: self.number("ra_um")?,
            offset_correction_mm: self.number("offset_correction_um")?.map(|um| um / UM_PER_MM),
        })
    }
}
