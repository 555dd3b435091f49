//! Computes offset, rate, finish and form error of each pass from recipe, wire, material and thickness. Does not know
//! the geometry of the part.

mod request;
mod rate;
mod borrowed;
mod schedule;
mod wire_reach;
mod surface;
#[cfg(test)]
mod tests;

use serde::Serialize;

use crate::id::{ContourId, GroupId, PassNo};
use crate::job::OpenSkims;
use crate::units::Band;

pub use crate::job::Nozzles;
pub use borrowed::{BeyondThickness, Borrowed};
pub use request::{Error, PassRequest, Setting};
pub(crate) use schedule::rough_cut;
pub use schedule::{PassTrace, Schedule, passes, schedule};
pub use surface::{Surface, surface};
pub use wire_reach::{WireReach, wire_reach};

/// Rough or skim.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum PassKind {
    /// The first cut: a full slot.
    Rough,
    /// A later cut, along the wall.
    Skim,
}

/// One pass of a job.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Pass {
    /// Number, from 1.
    pub pass: PassNo,
    /// Rough or skim.
    pub kind: PassKind,
    /// Wire centre to finished wall, mm: `d/2 + spark gap + stock − aim`.
    pub offset_mm: f64,
    /// Wire centre to the wall that the pass leaves, mm: `d/2 + spark gap`.
    pub half_kerf_mm: f64,
    /// Spark gap, one side, mm.
    pub spark_gap_mm: f64,
    /// Left on the wall for later passes, mm.
    pub stock_mm: f64,
    /// Area rate after the feed cap, mm²/min.
    pub area_rate_mm2_min: Band,
    /// Feed along the path, mm/min.
    pub feed_mm_min: Band,
    /// Ra if this is the last pass, µm.
    pub ra_um: Band,
    /// Form error if this is the last pass, ± µm per side.
    pub form_error_um: Band,
}

/// Contours that are cut with the same passes.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Number, from 1.
    pub group: GroupId,
    /// Numbers of its contours.
    pub contours: Vec<ContourId>,
    /// Contours that are only roughed: parts that would be skimmed loose.
    pub rough_only: Vec<ContourId>,
    /// Its passes, rough first.
    pub passes: Vec<Pass>,
    /// Tolerance called for, ± mm per wall.
    pub tolerance_mm: Option<f64>,
    /// Smallest inside radius that has to come out, mm, where the print allows one: corners may stay that round.
    pub inside_radius_mm: Option<f64>,
    /// How the wire runs round outside corners.
    pub corners: CornerRun,
    /// How the skims of open cuts follow one another.
    pub open_skims: OpenSkims,
    /// How far the kerf of an open cut runs out of the material, mm.
    pub run_out_mm: f64,
    /// A skim may meet this many times the stock it is meant to take.
    pub overload_limit: f64,
}

impl Group {
    /// Returns a pass by its number; `None` where the group has no such pass.
    pub fn pass(&self, pass: PassNo) -> Option<&Pass> {
        self.passes.get(pass.index())
    }
}

/// How the wire runs round a corner that juts out towards it. The finished corner is sharp either way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum CornerRun {
    /// Rolled: an arc of the offset round the corner.
    #[default]
    Rolled,
    /// Sharp where the corner of the path stands no farther than this many offsets from that of the contour
    /// (1/cos of half the turn: 1.42 takes in right angles), else rolled.
    Sharp {
        /// How many offsets.
        limit: f64,
    },
}
