//! The shop's log of finished jobs, one row a job.

use serde::Serialize;

use super::log_table::{LogFlaw, LogRow, LogTable};
use crate::estimate::Time;
use crate::shop::{MinutesHold, UnknownMinutes};
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

/// Reads a log in CSV, with a heading row. Rows that cannot be used come back as flaws beside those that can. `hold` is what
/// the minutes hold of rows that do not say so themselves.
pub fn read_log(text: &str, hold: Option<MinutesHold>) -> JobLog {
    let table = match LogTable::read(text) {
        Ok(table) => table,
        Err(flaw) => {
            return JobLog {
                flaws: vec![flaw],
                ..JobLog::default()
            };
        }
    };
    let known = [&NEEDED[..], &OPTIONAL].concat();
    let further = table.further(&known);
    let mut flaws = table.missing(&NEEDED, &further);
    if !table.has("length_mm") && !table.has("drawing") {
        let reason = "one of the columns `length_mm` and `drawing` is needed";
        flaws.push(LogFlaw::new(1, reason.to_owned()));
    }
    let mut further: Vec<FurtherColumn> = further.into_iter().map(further_column).collect();
    let leaves_minutes_open = hold.is_none() && !table.has("minutes_hold");
    if leaves_minutes_open || !flaws.is_empty() {
        return JobLog {
            flaws,
            further,
            leaves_minutes_open,
            ..JobLog::default()
        };
    }
    let mut jobs = Vec::new();
    for row in table.rows() {
        let job = row.and_then(|(line, row)| {
            for column in &mut further {
                column.filled += usize::from(row.text(&column.name).is_some());
            }
            job_of(&row, line, hold).map_err(|reason| LogFlaw::new(line, reason))
        });
        match job {
            Ok(job) => jobs.push(job),
            Err(flaw) => flaws.push(flaw),
        }
    }
    JobLog {
        jobs,
        flaws,
        further,
        leaves_minutes_open,
    }
}

fn further_column(name: &str) -> FurtherColumn {
    FurtherColumn {
        name: name.to_owned(),
        filled: 0,
    }
}

fn job_of(row: &LogRow<'_>, line: usize, hold: Option<MinutesHold>) -> Result<LogJob, String> {
    let length_mm = match row.text("length_mm") {
        Some(_) => Some(row.positive("length_mm")?),
        None => None,
    };
    let drawing = row.text("drawing").map(str::to_owned);
    if length_mm.is_none() && drawing.is_none() {
        return Err("neither a length nor a drawing".to_owned());
    }
    let contours = row.text("contours").map_or(Ok(1), |_| row.count("contours"))?;
    let said = row.text("minutes_hold").map(str::parse).transpose();
    let minutes_hold = said.map_err(|error: UnknownMinutes| error.to_string())?.or(hold);
    Ok(LogJob {
        line,
        length_mm,
        contours,
        drawing,
        planned: None,
        thickness_mm: row.positive("thickness_mm")?,
        material: row.text("material").ok_or("material is missing")?.to_owned(),
        wire_mm: row.positive("wire_mm")?,
        wire_kind: row.text("wire_kind").map(str::to_owned),
        passes: row.count("passes")?,
        machine: row.text("machine").map(str::to_owned),
        minutes: row.positive("minutes")?,
        minutes_hold: minutes_hold.ok_or("minutes_hold does not say what the minutes hold")?,
        ra_um: row.number("ra_um")?,
        offset_correction_mm: row.number("offset_correction_um")?.map(|um| um / UM_PER_MM),
    })
}
