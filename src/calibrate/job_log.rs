//! The shop's log of finished jobs, one row a job.

use crate::units::UM_PER_MM;

/// A finished job.
#[derive(Clone, Debug, PartialEq)]
pub struct LogJob {
    /// Line of the log, from 1.
    pub line: usize,
    /// Length cut, mm, one pass; `None` where the log gives a drawing to take it from.
    pub length_mm: Option<f64>,
    /// The drawing it was cut from.
    pub drawing: Option<String>,
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
    /// Real minutes from set-up to the finished piece.
    pub minutes: f64,
    /// Ra as measured, µm.
    pub ra_um: Option<f64>,
    /// What the offset had to be corrected by, away from the wall, mm.
    pub offset_correction_mm: Option<f64>,
}

/// A row or heading of the log that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("log, line {line}: {reason}")]
pub struct LogFlaw {
    /// Line of the log, from 1.
    pub line: usize,
    /// What is wrong and what would be right.
    pub reason: String,
}

/// The columns of a log; those in the second list may be left out.
const NEEDED: [&str; 5] = ["thickness_mm", "material", "wire_mm", "passes", "minutes"];
const OPTIONAL: [&str; 5] = [
    "length_mm",
    "drawing",
    "wire_kind",
    "ra_um",
    "offset_correction_um",
];

/// Reads a log in CSV, with a heading row. Rows that cannot be used come back as flaws beside those that can.
pub fn read_log(text: &str) -> (Vec<LogJob>, Vec<LogFlaw>) {
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let flaw = |line: usize, reason: String| LogFlaw { line, reason };
    let heads = match reader.headers() {
        Ok(heads) => heads.iter().map(str::to_lowercase).collect::<Vec<_>>(),
        Err(error) => return (Vec::new(), vec![flaw(1, error.to_string())]),
    };
    let mut flaws = Vec::new();
    for head in &heads {
        if !NEEDED.iter().chain(&OPTIONAL).any(|known| known == head) {
            let known = [NEEDED, OPTIONAL].concat().join(", ");
            flaws.push(flaw(
                1,
                format!("column `{head}` is not known; the columns are {known}"),
            ));
        }
    }
    for needed in NEEDED
        .iter()
        .filter(|needed| !heads.iter().any(|head| head == *needed))
    {
        flaws.push(flaw(1, format!("column `{needed}` is missing")));
    }
    if !heads.iter().any(|head| head == "length_mm" || head == "drawing") {
        flaws.push(flaw(
            1,
            "one of the columns `length_mm` and `drawing` is needed".to_owned(),
        ));
    }
    if !flaws.is_empty() {
        return (Vec::new(), flaws);
    }
    let mut jobs = Vec::new();
    for (i, record) in reader.records().enumerate() {
        match record {
            Ok(record) => {
                let line = record
                    .position()
                    .map_or(i + 2, |position| position.line() as usize);
                match (LogRow {
                    heads: &heads,
                    record: &record,
                })
                .job(line)
                {
                    Ok(job) => jobs.push(job),
                    Err(reason) => flaws.push(flaw(line, reason)),
                }
            }
            Err(error) => flaws.push(flaw(i + 2, error.to_string())),
        }
    }
    (jobs, flaws)
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
            .filter(|value| *value > 0.0)
            .ok_or_else(|| format!("{head} has to be a number above 0"))
    }

    fn job(&self, line: usize) -> Result<LogJob, String> {
        let length_mm = match self.text("length_mm") {
            Some(_) => Some(self.positive("length_mm")?),
            None => None,
        };
        let drawing = self.text("drawing").map(str::to_owned);
        if length_mm.is_none() && drawing.is_none() {
            return Err("neither a length nor a drawing".to_owned());
        }
        let passes = self.positive("passes")?;
        if passes.fract() != 0.0 {
            return Err(format!("passes {passes} is not a whole number"));
        }
        Ok(LogJob {
            line,
            length_mm,
            drawing,
            thickness_mm: self.positive("thickness_mm")?,
            material: self.text("material").ok_or("material is missing")?.to_owned(),
            wire_mm: self.positive("wire_mm")?,
            wire_kind: self.text("wire_kind").map(str::to_owned),
            passes: passes as usize,
            minutes: self.positive("minutes")?,
            ra_um: self.number("ra_um")?,
            offset_correction_mm: self.number("offset_correction_um")?.map(|um| um / UM_PER_MM),
        })
    }
}
