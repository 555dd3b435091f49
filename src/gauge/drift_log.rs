//! The log of readings on finished walls: a row a reading, as the inspection sheet leaves them or as the shop types them.

use serde::Serialize;

use crate::calibrate::{LogFlaw, LogRow, LogTable};
use crate::tolerance::LONGEST_GIVEN_MM;
use crate::units::Feature;

/// The words of a log for the side of the walls of a size on which the material is.
const KINDS: [(&str, Feature); 2] = [("part", Feature::Shaft), ("opening", Feature::Hole)];

/// Returns the word that stands in a log for the side on which the material is.
pub fn kind_word(feature: Feature) -> &'static str {
    let mut words = KINDS.iter().filter(|(_, kind)| *kind == feature);
    words.next().map_or("", |(word, _)| word)
}

/// Computes what is too much on a wall, mm: of a part (measured − target) a wall, of an opening (target − measured).
pub fn excess_mm(feature: Feature, measured_mm: f64, target_mm: f64, walls: usize) -> f64 {
    let more_mm = match feature {
        Feature::Shaft => measured_mm - target_mm,
        Feature::Hole => target_mm - measured_mm,
    };
    more_mm / walls as f64
}

/// What a wall was cut with: readings of one recipe stand on one chart. What the log does not say is `None`.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct DriftRecipe {
    /// Name of the material; null where the log does not say it, as all of these.
    pub material: Option<String>,
    /// Thickness, mm.
    pub thickness_mm: Option<f64>,
    /// Diameter of the wire, mm.
    pub wire_mm: Option<f64>,
    /// Kind of the wire.
    pub wire_kind: Option<String>,
    /// The machine.
    pub machine: Option<String>,
    /// Number of passes.
    pub passes: Option<usize>,
}

/// A reading of a size.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct WallReading {
    /// Line of the log, from 1.
    pub line: usize,
    /// What the wall was cut with.
    pub recipe: DriftRecipe,
    /// Offset of the last pass that it was cut with, mm.
    pub offset_mm: Option<f64>,
    /// The day, as written.
    pub date: Option<String>,
    /// The piece, as written: readings of one piece that follow one another make one point.
    pub piece: Option<String>,
    /// What is too much on a wall, mm; negative where too little stands.
    pub excess_mm: f64,
}

/// A log as read.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct DriftLog {
    /// The readings, in the order of the log.
    pub readings: Vec<WallReading>,
    /// Rows and headings that cannot be used.
    pub flaws: Vec<LogFlaw>,
    /// Rows without a reading.
    pub without_reading: usize,
}

const NEEDED: [&str; 3] = ["kind", "target_mm", "measured_mm"];

/// Readings farther than this from their target are mistakes of writing, mm.
const FARTHEST_OFF_MM: f64 = 1.0;

/// Most walls that a size lies between.
const MOST_WALLS: usize = 2;

/// Reads a log of readings in CSV, with a heading row. Rows that cannot be used come back as flaws beside those that can.
pub fn read_drift_log(text: &str) -> DriftLog {
    let table = match LogTable::read(text) {
        Ok(table) => table,
        Err(flaw) => {
            return DriftLog {
                flaws: vec![flaw],
                ..DriftLog::default()
            };
        }
    };
    let mut log = DriftLog {
        flaws: table.missing(&NEEDED, &table.further(&NEEDED)),
        ..DriftLog::default()
    };
    if !log.flaws.is_empty() {
        return log;
    }
    for row in table.rows() {
        let reading = row.and_then(|(line, row)| {
            let reading = reading(line, row);
            reading.map_err(|reason| LogFlaw::new(line, reason))
        });
        match reading {
            Ok(Some(reading)) => log.readings.push(reading),
            Ok(None) => log.without_reading += 1,
            Err(flaw) => log.flaws.push(flaw),
        }
    }
    log
}

/// Reads a row; `None` where nothing was measured.
fn reading(line: usize, row: LogRow<'_>) -> Result<Option<WallReading>, String> {
    let Some(measured_mm) = length_mm(row, "measured_mm")? else {
        return Ok(None);
    };
    let target_mm = length_mm(row, "target_mm")?.ok_or("target_mm is missing")?;
    let kind = row.text("kind").unwrap_or_default();
    let (_, feature) = (KINDS.iter())
        .find(|(word, _)| word.eq_ignore_ascii_case(kind))
        .ok_or_else(|| format!("kind `{kind}` is neither `part` nor `opening`"))?;
    let walls = at_least_one(row, "walls")?.unwrap_or(MOST_WALLS);
    if walls > MOST_WALLS {
        return Err(format!(
            "walls {walls}: a size lies between {MOST_WALLS}, a radius or a point has 1"
        ));
    }
    if (measured_mm - target_mm).abs() > FARTHEST_OFF_MM {
        return Err(format!(
            "measured_mm {measured_mm} is more than {FARTHEST_OFF_MM} mm off target_mm {target_mm}: a mistake of writing?"
        ));
    }
    let words = |head: &str| row.text(head).map(str::to_owned);
    Ok(Some(WallReading {
        line,
        recipe: DriftRecipe {
            material: words("material"),
            thickness_mm: above_zero(row, "thickness_mm")?,
            wire_mm: above_zero(row, "wire_mm")?,
            wire_kind: words("wire_kind"),
            machine: words("machine"),
            passes: at_least_one(row, "passes")?,
        },
        offset_mm: above_zero(row, "offset_mm")?,
        date: words("date"),
        piece: words("piece"),
        excess_mm: excess_mm(*feature, measured_mm, target_mm, walls),
    }))
}

/// A length, which may be 0 or below: of a point what is aimed at is a deviation.
fn length_mm(row: LogRow<'_>, head: &str) -> Result<Option<f64>, String> {
    match row.number(head)? {
        Some(mm) if mm.abs() > LONGEST_GIVEN_MM => {
            Err(format!("{head} {mm} is more than {LONGEST_GIVEN_MM} mm"))
        }
        mm => Ok(mm),
    }
}

fn above_zero(row: LogRow<'_>, head: &str) -> Result<Option<f64>, String> {
    row.text(head).map(|_| row.positive(head)).transpose()
}

fn at_least_one(row: LogRow<'_>, head: &str) -> Result<Option<usize>, String> {
    row.text(head).map(|_| row.count(head)).transpose()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed forms: a part 10 µm too large has 5 µm too much on each wall, an opening 10 µm too large 5 µm too little; of a
    /// radius the wall is one.
    #[test]
    fn what_is_too_much_on_a_wall_follows_from_the_side_of_the_material() {
        let log = read_drift_log(
            "feature,kind,walls,target_mm,measured_mm\n\
             a,part,,20,20.010\nb,opening,,20,20.010\nc,Part,1,3,3.004\nd,opening,1,3,3.004\ne,part,,5,\n",
        );
        assert_eq!((log.flaws.len(), log.without_reading), (0, 1));
        let excess: Vec<f64> = log
            .readings
            .iter()
            .map(|reading| reading.excess_mm * 1e3)
            .collect();
        for (found, right) in excess.iter().zip([5.0, -5.0, 4.0, -4.0]) {
            assert!((found - right).abs() < 1e-9, "{excess:?}");
        }
    }

    #[test]
    fn what_cannot_be_read_is_told_with_its_line() {
        let log = read_drift_log(
            "kind,walls,target_mm,measured_mm,passes\n\
             part,2,20,20.001,4\nbore,2,20,20.001,4\npart,3,20,20.001,4\npart,2,20,22,4\npart,2,,20,4\n\
             part,2,20,about 20,4\npart,2,20,20.001,2.5\n",
        );
        assert_eq!(log.readings.len(), 1);
        let lines: Vec<usize> = log.flaws.iter().map(|flaw| flaw.line).collect();
        assert_eq!(lines, [3, 4, 5, 6, 7, 8]);
        let without = read_drift_log("kind,target,measured_mm\npart,20,20\n");
        assert!(
            without.flaws[0].reason.contains("is it `target`?"),
            "{:?}",
            without.flaws
        );
    }
}
