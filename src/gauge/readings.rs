//! What was read off a test piece: one CSV file of the piece's own facts and the readings, as the form leaves it.

use std::fmt;

use serde::Serialize;
use thiserror::Error;

use crate::id::PassNo;
use crate::message::number::short;
use crate::pass;
use crate::shop::{GaugingErrors, Number, is_date, nearest};
use crate::units::UM_PER_MM;

/// Which wall of the pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum GaugedWall {
    /// What was cut around.
    Pin,
    /// What was cut out.
    Opening,
}

/// Across which flats.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum Across {
    /// Those that x is square to.
    X,
    /// Those that y is square to.
    Y,
}

/// At which height of the wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum GaugedHeight {
    /// Near the upper face.
    Top,
    /// In the middle.
    Middle,
    /// Near the lower face.
    Bottom,
}

impl Across {
    /// Both of them.
    pub const ALL: [Self; 2] = [Self::X, Self::Y];
}

impl GaugedHeight {
    /// All of them, the upper one first.
    pub const ALL: [Self; 3] = [Self::Top, Self::Middle, Self::Bottom];
}

impl fmt::Display for GaugedWall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Pin => "pin",
            Self::Opening => "opening",
        })
    }
}

impl fmt::Display for Across {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::X => "x",
            Self::Y => "y",
        })
    }
}

impl fmt::Display for GaugedHeight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Top => "top",
            Self::Middle => "middle",
            Self::Bottom => "bottom",
        })
    }
}

/// What a size was found to be, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum MeasuredSize {
    /// Read off an instrument.
    Read(f64),
    /// Between the larger gauge that still goes and the smaller one that does not.
    Between {
        /// The one that goes.
        goes_mm: f64,
        /// The one that does not.
        does_not_go_mm: f64,
    },
}

/// One size across flats.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct SizeReading {
    /// Line of the file, from 1.
    pub line: usize,
    /// Which wall.
    pub wall: GaugedWall,
    /// The pass that left it.
    pub pass: PassNo,
    /// Across which flats.
    pub across: Across,
    /// At which height; `None` for a gauge that goes through.
    pub height: Option<GaugedHeight>,
    /// What it is.
    pub size: MeasuredSize,
}

/// What is known of the instruments and of the temperature: plus or minus.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct InstrumentErrors {
    /// Of what is gauged outside, µm.
    pub outside_um: f64,
    /// Of what is gauged inside, µm.
    pub inside_um: f64,
    /// How far the two disagree on one master, µm.
    pub inside_against_outside_um: f64,
    /// How far piece and instruments are apart in temperature, K.
    pub temperature_k: f64,
}

/// What a test piece was cut with.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct PieceFacts {
    /// The day on which it was gauged, year-month-day.
    pub date: String,
    /// Name of the material.
    pub material: String,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Diameter of the wire by which the offsets were planned, mm.
    pub wire_mm: f64,
    /// Kind of the wire; null for all.
    pub wire_kind: Option<String>,
    /// The machine; null for all.
    pub machine: Option<String>,
    /// Size of the pin as drawn, across x and y, mm.
    pub pin_mm: [f64; 2],
    /// Offset of each pass as it was cut, mm.
    pub offsets_mm: Vec<f64>,
    /// How far the instruments may be off.
    pub errors: InstrumentErrors,
}

/// All that was read off a test piece.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Readings {
    /// What it was cut with.
    pub facts: PieceFacts,
    /// Sizes across flats.
    pub sizes: Vec<SizeReading>,
    /// Diameters of the wire, each with its line, mm.
    pub wire_mm: Vec<(usize, f64)>,
    /// Ra of the wall that a pass left, each with its line, µm.
    pub ra_um: Vec<(usize, PassNo, f64)>,
}

/// A row of the readings that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("line {line}: {reason}")]
#[non_exhaustive]
pub struct ReadingFlaw {
    /// Number of the line, from 1.
    pub line: usize,
    /// What is wrong and what would be right.
    pub reason: String,
}

/// Why readings say nothing.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Error {
    /// Rows cannot be used.
    #[error("{}", flaws.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n  "))]
    Unusable {
        /// All of them.
        flaws: Vec<ReadingFlaw>,
    },
    /// A fact of the piece is missing.
    #[error("the row `{item}` is missing or empty")]
    NoFact {
        /// What its first cell would say.
        item: String,
    },
    /// The book has no such material, wire, machine or number of passes.
    #[error(transparent)]
    NotInBook(#[from] pass::Error),
    /// A wall was not gauged.
    #[error(
        "pass {pass}: the {wall} was not gauged across the flats across which the other was, or not at all"
    )]
    NotGauged {
        /// The pass.
        pass: PassNo,
        /// The wall.
        wall: GaugedWall,
    },
    /// A place was read too few times to tell how far a reading strays.
    #[error(
        "pass {pass}, {wall} across {across}{}: {count} readings; at least {} are needed, or a pair of gauges of which one goes and one does not",
        height.map(|height| format!(", {height}")).unwrap_or_default(),
        FEWEST_READINGS
    )]
    TooFew {
        /// The pass.
        pass: PassNo,
        /// The wall.
        wall: GaugedWall,
        /// Across which flats.
        across: Across,
        /// At which height.
        height: Option<GaugedHeight>,
        /// Readings there are.
        count: usize,
    },
    /// Ra was read too few times.
    #[error(
        "pass {pass}: {count} readings of Ra; at least {} are needed",
        FEWEST_READINGS
    )]
    FewRa {
        /// The pass.
        pass: PassNo,
        /// Readings there are.
        count: usize,
    },
    /// Gauges contradict one another.
    #[error("pass {pass}, {wall} across {across}: a gauge goes that is larger than one that does not go")]
    Contradiction {
        /// The pass.
        pass: PassNo,
        /// The wall.
        wall: GaugedWall,
        /// Across which flats.
        across: Across,
    },
    /// A size was read off an instrument and between gauges.
    #[error("pass {pass}, {wall} across {across}: give readings, or a pair of gauges, not both")]
    BothWays {
        /// The pass.
        pass: PassNo,
        /// The wall.
        wall: GaugedWall,
        /// Across which flats.
        across: Across,
    },
    /// Half the kerf is less than half the wire.
    #[error(
        "pass {pass}: half the kerf is {} mm, less than half the wire of {wire_mm} mm: a reading is of another feature, or the offsets are not those \
         that were cut",
        short(*half_kerf_mm, 4)
    )]
    WithinWire {
        /// The pass.
        pass: PassNo,
        /// Half of its kerf, mm.
        half_kerf_mm: f64,
        /// The wire, mm.
        wire_mm: f64,
    },
    /// A skim left more material than the pass before it.
    #[error(
        "pass {pass} leaves its wall {} mm farther out than the pass before it: readings of two passes are mixed up, or the skim did not cut",
        short(*farther_mm, 4)
    )]
    TakesNothing {
        /// The skim.
        pass: PassNo,
        /// How much farther, mm.
        farther_mm: f64,
    },
}

/// Fewest readings of a place: two tell next to nothing of how far a reading strays.
pub(super) const FEWEST_READINGS: usize = 3;

/// The headings of the file; rows say what they are in the first.
pub(super) const HEADINGS: [&str; 7] = [
    "item",
    "pass",
    "across",
    "height",
    "value",
    "goes_mm",
    "does_not_go_mm",
];

/// What the first cell of a row may say.
const ITEMS: [&str; 17] = [
    "date",
    "material",
    "thickness_mm",
    "wire_mm",
    "wire_kind",
    "machine",
    "pin_x_mm",
    "pin_y_mm",
    "offset_mm",
    "outside_um",
    "inside_um",
    "inside_against_outside_um",
    "temperature_k",
    "pin",
    "opening",
    "wire_read_mm",
    "ra_um",
];

/// Reads what was read off a test piece. What it does not say of the instruments is the book's.
///
/// # Errors
/// Every row that cannot be used, with its line, and the first fact that is missing.
pub fn read_readings(text: &str, usual: &GaugingErrors) -> Result<Readings, Error> {
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let mut flaws = Vec::new();
    let heads: Vec<String> = match reader.headers() {
        Ok(heads) => heads.iter().map(str::to_lowercase).collect(),
        Err(error) => {
            let reason = error.to_string();
            return Err(Error::Unusable {
                flaws: vec![ReadingFlaw { line: 1, reason }],
            });
        }
    };
    for missing in HEADINGS[..5]
        .iter()
        .filter(|needed| !heads.iter().any(|head| head == *needed))
    {
        flaws.push(ReadingFlaw {
            line: 1,
            reason: format!("column `{missing}` is missing"),
        });
    }
    let mut draft = DraftReadings::default();
    for (i, record) in reader.records().enumerate() {
        let (line, read) = match &record {
            Ok(record) => {
                let line = record.position().map_or(i + 2, |at| at.line() as usize);
                let row = GaugedRow {
                    heads: &heads,
                    record,
                };
                (line, draft.take(line, &row))
            }
            Err(error) => (i + 2, Err(error.to_string())),
        };
        flaws.extend(read.err().map(|reason| ReadingFlaw { line, reason }));
    }
    flaws.extend(draft.misplaced());
    flaws.extend(draft.of_no_pass());
    if flaws.is_empty() {
        draft.finish(usual)
    } else {
        flaws.sort_by_key(|flaw| flaw.line);
        Err(Error::Unusable { flaws })
    }
}

/// A row of the file.
struct GaugedRow<'a> {
    heads: &'a [String],
    record: &'a csv::StringRecord,
}

impl GaugedRow<'_> {
    fn text(&self, head: &str) -> Option<&str> {
        let at = self.heads.iter().position(|known| known == head)?;
        self.record.get(at).filter(|text| !text.is_empty())
    }

    /// Returns a number of 0 or above; `None` where the cell is empty.
    fn number(&self, head: &str) -> Result<Option<f64>, String> {
        let Some(text) = self.text(head) else {
            return Ok(None);
        };
        let value = text
            .parse::<f64>()
            .ok()
            .filter(|value| *value >= 0.0 && value.is_finite());
        value
            .map(Some)
            .ok_or_else(|| format!("{head} `{text}` is not a number of 0 or above, with a point: 10.003"))
    }

    fn pass(&self) -> Result<PassNo, String> {
        let pass = self.number("pass")?.filter(|pass| pass.fract() == 0.0);
        pass.and_then(|pass| PassNo::new(pass as usize))
            .ok_or_else(|| "`pass` has to be the number of a pass, from 1".to_owned())
    }

    fn word<T: Copy + fmt::Display>(&self, head: &str, words: &[T]) -> Result<Option<T>, String> {
        let Some(text) = self.text(head) else {
            return Ok(None);
        };
        let known = || words.iter().map(ToString::to_string);
        let meant = words.iter().find(|word| word.to_string() == text.to_lowercase());
        meant.copied().map(Some).ok_or_else(|| {
            format!(
                "{head} `{text}`: write {}",
                known().collect::<Vec<_>>().join(" or ")
            )
        })
    }

    /// What was found of a size; `None` where nothing is written yet.
    fn size(&self) -> Result<Option<MeasuredSize>, String> {
        let (read, goes, not) = (
            self.number("value")?,
            self.number("goes_mm")?,
            self.number("does_not_go_mm")?,
        );
        match (read, goes, not) {
            (None, None, None) => Ok(None),
            (Some(read_mm), None, None) => Ok(Some(MeasuredSize::Read(read_mm))),
            (None, Some(goes_mm), Some(does_not_go_mm)) if goes_mm < does_not_go_mm => {
                Ok(Some(MeasuredSize::Between {
                    goes_mm,
                    does_not_go_mm,
                }))
            }
            _ => Err("give a value, or a gauge that goes and a larger one that does not".to_owned()),
        }
    }
}

/// Readings while the file is read.
#[derive(Default)]
struct DraftReadings {
    texts: Vec<(&'static str, String)>,
    numbers: Vec<(&'static str, f64)>,
    offsets_mm: Vec<(PassNo, f64)>,
    sizes: Vec<SizeReading>,
    wire_mm: Vec<(usize, f64)>,
    ra_um: Vec<(usize, PassNo, f64)>,
}

impl DraftReadings {
    fn take(&mut self, line: usize, row: &GaugedRow<'_>) -> Result<(), String> {
        let Some(said) = row.text("item") else {
            return Ok(());
        };
        let item = ITEMS.into_iter().find(|known| *known == said.to_lowercase());
        let item = item.ok_or_else(|| {
            let hint = nearest(said, ITEMS);
            let hint = hint.map_or_else(String::new, |near| format!("; is it `{near}`?"));
            format!("`{said}` is no item of a test piece{hint}")
        })?;
        match item {
            "pin" => self.take_size(line, row, GaugedWall::Pin)?,
            "opening" => self.take_size(line, row, GaugedWall::Opening)?,
            "date" | "material" | "wire_kind" | "machine" => {
                let text = row.text("value").map(|text| (item, text.to_owned()));
                self.texts.extend(text);
            }
            _ => {
                let Some(value) = row.number("value")? else {
                    return Ok(());
                };
                match item {
                    "offset_mm" => self.offsets_mm.push((row.pass()?, value)),
                    "wire_read_mm" => self.wire_mm.push((line, value)),
                    "ra_um" => self.ra_um.push((line, row.pass()?, value)),
                    _ => self.numbers.push((item, value)),
                }
            }
        }
        Ok(())
    }

    fn take_size(&mut self, line: usize, row: &GaugedRow<'_>, wall: GaugedWall) -> Result<(), String> {
        let Some(size) = row.size()? else {
            return Ok(());
        };
        self.sizes.push(SizeReading {
            line,
            wall,
            pass: row.pass()?,
            across: row
                .word("across", &Across::ALL)?
                .ok_or_else(|| "`across` has to be x or y".to_owned())?,
            height: row.word("height", &GaugedHeight::ALL)?,
            size,
        });
        Ok(())
    }

    fn number(&self, item: &str) -> Option<f64> {
        let found = self.numbers.iter().find(|(known, _)| *known == item);
        found.map(|(_, value)| *value)
    }

    fn needed(&self, item: &'static str) -> Result<f64, Error> {
        let value = self.number(item).filter(|value| *value > 0.0);
        value.ok_or_else(|| Error::NoFact {
            item: item.to_owned(),
        })
    }

    fn text(&self, item: &str) -> Option<String> {
        let found = self.texts.iter().find(|(known, _)| *known == item);
        found.map(|(_, text)| text.clone())
    }

    /// Readings of a pass that the piece was not cut with.
    fn of_no_pass(&self) -> Vec<ReadingFlaw> {
        let is_cut = |pass: PassNo| self.offsets_mm.iter().any(|(known, _)| *known == pass);
        let sizes = self.sizes.iter().map(|size| (size.line, size.pass));
        let ra = self.ra_um.iter().map(|(line, pass, _)| (*line, *pass));
        let flaw = |(line, pass): (usize, PassNo)| ReadingFlaw {
            line,
            reason: format!("pass {pass}: the piece has no `offset_mm` of that pass"),
        };
        sizes
            .chain(ra)
            .filter(|(_, pass)| !is_cut(*pass))
            .map(flaw)
            .collect()
    }

    /// Sizes that are so far from what the piece has there that they are of something else.
    fn misplaced(&self) -> Vec<ReadingFlaw> {
        let widest_mm = self.offsets_mm.iter().map(|(_, mm)| *mm).fold(0.0, f64::max);
        let last_mm = self
            .offsets_mm
            .iter()
            .max_by_key(|(pass, _)| *pass)
            .map(|(_, mm)| *mm);
        let mut flaws = Vec::new();
        for reading in &self.sizes {
            let pin_mm = match reading.across {
                Across::X => self.number("pin_x_mm"),
                Across::Y => self.number("pin_y_mm"),
            };
            let drawn_mm = match reading.wall {
                GaugedWall::Pin => pin_mm,
                GaugedWall::Opening => pin_mm
                    .zip(last_mm)
                    .map(|(pin_mm, last_mm)| pin_mm + 4.0 * last_mm),
            };
            let read_mm = reading.size.middle_mm();
            if let Some(drawn_mm) = drawn_mm.filter(|drawn_mm| (read_mm - drawn_mm).abs() > 2.0 * widest_mm) {
                let reason = format!(
                    "{read_mm} mm where the {} is drawn {} mm across {}: a reading of something else?",
                    reading.wall,
                    short(drawn_mm, 3),
                    reading.across
                );
                flaws.push(ReadingFlaw {
                    line: reading.line,
                    reason,
                });
            }
        }
        flaws
    }

    fn finish(mut self, usual: &GaugingErrors) -> Result<Readings, Error> {
        let missing = |item: &str| Error::NoFact {
            item: item.to_owned(),
        };
        self.offsets_mm.sort_by_key(|(pass, _)| *pass);
        let numbered = PassNo::numbered(&self.offsets_mm).all(|(pass, (said, _))| pass == *said);
        if self.offsets_mm.is_empty() || !numbered {
            return Err(missing("offset_mm"));
        }
        let date = self.text("date").filter(|date| is_date(date));
        let error = |item, number: &Number| self.number(item).unwrap_or(number.value());
        let facts = PieceFacts {
            date: date.ok_or_else(|| missing("date"))?,
            material: self.text("material").ok_or_else(|| missing("material"))?,
            thickness_mm: self.needed("thickness_mm")?,
            wire_mm: self.needed("wire_mm")?,
            wire_kind: self.text("wire_kind"),
            machine: self.text("machine"),
            pin_mm: [self.needed("pin_x_mm")?, self.needed("pin_y_mm")?],
            offsets_mm: self.offsets_mm.iter().map(|(_, mm)| *mm).collect(),
            errors: InstrumentErrors {
                outside_um: error("outside_um", &usual.outside_um),
                inside_um: error("inside_um", &usual.inside_um),
                inside_against_outside_um: error(
                    "inside_against_outside_um",
                    &usual.inside_against_outside_um,
                ),
                temperature_k: error("temperature_k", &usual.temperature_k),
            },
        };
        Ok(Readings {
            facts,
            sizes: self.sizes,
            wire_mm: self.wire_mm,
            ra_um: self.ra_um,
        })
    }
}

impl MeasuredSize {
    /// Returns what it is expected to be, mm.
    pub fn middle_mm(self) -> f64 {
        match self {
            Self::Read(read_mm) => read_mm,
            Self::Between {
                goes_mm,
                does_not_go_mm,
            } => f64::midpoint(goes_mm, does_not_go_mm),
        }
    }

    /// Returns how far it may be off for being known between two gauges alone, µm; `None` of a reading.
    pub fn half_width_um(self) -> Option<f64> {
        match self {
            Self::Read(_) => None,
            Self::Between {
                goes_mm,
                does_not_go_mm,
            } => Some(0.5 * (does_not_go_mm - goes_mm) * UM_PER_MM),
        }
    }
}
