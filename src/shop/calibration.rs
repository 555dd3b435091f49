use std::fmt;
use std::str::FromStr;

use serde::Serialize;
use thiserror::Error;

use super::entry::{Entry, Limit};
use super::{Number, same_wire};

/// What the minutes of a finished job hold: each is what a plan sums up under one head.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub enum MinutesHold {
    /// The wire cuts.
    #[serde(rename = "cutting")]
    Cutting,
    /// From start to end of the program.
    #[serde(rename = "machine")]
    Machine,
    /// All of the job.
    #[serde(rename = "set-up to finished")]
    SetUpToFinished,
}

/// A word that says no such thing.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("`{said}` does not say what the minutes hold: {}", MinutesHold::ALL.map(|hold| hold.to_string()).join(", "))]
#[non_exhaustive]
pub struct UnknownMinutes {
    said: String,
}

impl MinutesHold {
    /// All of them, the one that holds least first.
    pub const ALL: [Self; 3] = [Self::Cutting, Self::Machine, Self::SetUpToFinished];

    /// Returns what it means, in words.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Cutting => {
                "the minutes in which the wire cuts: the passes with their leads, corners and coreless removal"
            }
            Self::Machine => {
                "from start to end of the program: cutting, threading, travel, wire breaks, and the stops in the machine"
            }
            Self::SetUpToFinished => "all of it: set-up, start holes, program, and what is done by hand",
        }
    }
}

impl fmt::Display for MinutesHold {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Cutting => "cutting",
            Self::Machine => "machine",
            Self::SetUpToFinished => "set-up to finished",
        })
    }
}

impl FromStr for MinutesHold {
    type Err = UnknownMinutes;

    /// Takes hyphens and blanks for the same, so that no shell needs quotes.
    fn from_str(words: &str) -> Result<Self, Self::Err> {
        let flat = |words: &str| words.trim().to_lowercase().replace(['-', '_'], " ");
        let said = |hold: &Self| flat(&hold.to_string()) == flat(words);
        Self::ALL.into_iter().find(said).ok_or_else(|| UnknownMinutes {
            said: words.to_owned(),
        })
    }
}

/// Rates fitted to the finished jobs of the shop for one material and wire.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Calibration {
    /// Its name in the book.
    pub name: String,
    /// Material.
    pub material: String,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind.
    pub wire_kind: String,
    /// The machine that it is for; `None` for those that have none of their own.
    pub machine: Option<String>,
    /// What the minutes of its jobs held.
    pub minutes_hold: Vec<MinutesHold>,
    /// All area rates against those of the uncalibrated book. Its band is that of a calibrated estimate.
    pub rate_factor: Number,
    /// Minutes of a set-up; `None` where the jobs did not tell them: then those of the book hold.
    pub fixed_min: Option<Number>,
    /// What gauged offsets were off by, away from the wall, µm.
    pub offset_correction_um: Option<Number>,
    /// Jobs it was fitted to.
    pub jobs: usize,
    /// Typical error of an estimate for a job that the fit had not seen, percent.
    pub typical_error_percent: f64,
}

impl Calibration {
    /// Reads `[calibration.NAME]`.
    pub(super) fn read(entry: &Entry<'_, '_>, name: &str) -> Option<Self> {
        let material = entry.text("material", None);
        let wire_kind = entry.text("wire_kind", None);
        let plain = |key: &str| {
            let value = entry.plain_if(key, Limit::NotNegative);
            if value.is_none() && !entry.has(key) {
                entry.flaw(format!("`{key}` is missing: a number of 0 or above"));
            }
            value
        };
        let wire_mm = plain("wire_mm");
        let jobs = plain("jobs");
        let typical_error_percent = plain("typical_error_percent");
        let rate_factor = entry.number("rate_factor", None, Limit::Positive);
        let fixed_min = entry.number_if("fixed_min", None, Limit::NotNegative);
        let machine = entry.text_if("machine");
        let minutes_hold = minutes_hold(entry);
        let offset_correction_um = entry.number_if("offset_correction_um", None, Limit::Finite);
        entry.finish();
        Some(Self {
            name: name.to_owned(),
            material: material?,
            wire_mm: wire_mm?,
            wire_kind: wire_kind?,
            rate_factor: rate_factor?,
            machine,
            minutes_hold: minutes_hold?,
            fixed_min,
            offset_correction_um,
            jobs: jobs? as usize,
            typical_error_percent: typical_error_percent?,
        })
    }

    /// Whether it is for this material and wire on this machine.
    pub fn suits(&self, material: &str, wire_mm: f64, wire_kind: &str, machine: &str) -> bool {
        self.material == material
            && same_wire(self.wire_mm, wire_mm)
            && self.wire_kind == wire_kind
            && self.machine.as_ref().is_none_or(|own| own == machine)
    }
}

/// Reads what the minutes held. A calibration that does not say so was fitted when threading, leads and stops were counted
/// both in it and beside it.
fn minutes_hold(entry: &Entry<'_, '_>) -> Option<Vec<MinutesHold>> {
    let Some(words) = entry.text_list("minutes_hold") else {
        if !entry.has("minutes_hold") {
            entry.flaw(
                "`minutes_hold` is missing: this calibration is of an older form, by which a plan would count some minutes twice; \
                 run `kerfwright calibrate` on its log again and put what that writes in its place",
            );
        }
        return None;
    };
    let read = words.iter().map(|word| word.parse());
    read.collect::<Result<_, UnknownMinutes>>()
        .map_err(|error| entry.flaw_at("minutes_hold", error.to_string()))
        .ok()
}
