//! Why a job file cannot be read.

use crate::message::{Message, message};
use crate::units::unit_names;

/// Why a job file cannot be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum JobFileError {
    /// The text.
    #[error("job file, line {line}: {reason}")]
    Text {
        /// Line, from 1.
        line: usize,
        /// What is wrong.
        reason: String,
    },
    /// A demand in it.
    #[error("job file: {0}")]
    Demand(#[from] DemandError),
    /// The name of a contour.
    #[error("job file: [contour.{0}]: contours are named by their number, as `inspect` prints it")]
    Contour(String),
    /// The number of a colour.
    #[error("job file: [color.{0}]: colours are named by their number in the drawing")]
    Color(String),
    /// The unit of the drawing.
    #[error("units = \"{0}\" in the job file: it is one of {names}", names = unit_names().collect::<Vec<_>>().join(", "))]
    Units(String),
    /// A number that has to be above 0.
    #[error("{0}: it must be above 0")]
    NotAboveZero(&'static str),
    /// A tab.
    #[error(
        "tab = \"{0}\" in the job file: it is `none` or a length above 0 in mm, such as \"2.5\", of at most 10 m"
    )]
    Tab(String),
    /// The blank is given twice.
    #[error("blank_mm and margin_mm: the blank has the one or the other")]
    BlankTwice,
    /// A number that has to be finite.
    #[error("{0}: it must be a finite number")]
    NotFinite(&'static str),
    /// A number beyond its limits.
    #[error("{key} = {value:?}: it must be from {least} to {most}")]
    Beyond {
        /// Its key.
        key: &'static str,
        /// As given.
        value: f64,
        /// Least that it may be.
        least: f64,
        /// Most that it may be.
        most: f64,
    },
    /// An overlap.
    #[error("overlap_mm: it must be a length of 0 or more")]
    Overlap,
    /// A limit of sharp corners.
    #[error("sharp_corners = {0}: it must be a number of offsets from 1, which only rounds corners")]
    SharpCorners(f64),
}

/// Why a demand cannot be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", self.message())]
#[non_exhaustive]
pub enum DemandError {
    /// The finish.
    Finish {
        /// As written.
        written: String,
        /// What is wrong and what would be right.
        reason: Message,
    },
    /// The tolerance.
    Tolerance {
        /// As written.
        written: String,
        /// What is wrong and what would be right.
        reason: Message,
    },
    /// A last pass that is run, of a number of passes that is not given.
    StopAfter,
}

impl JobFileError {
    /// Says it.
    pub fn message(&self) -> Message {
        match self {
            Self::Demand(error) => message!("job file: {}", error.message()),
            _ => self.to_string().into(),
        }
    }

    /// Returns the key whose value is refused, where it is one, so that each front can name its own option, column or cell.
    pub const fn field(&self) -> Option<&'static str> {
        match self {
            Self::Text { .. } => None,
            Self::Demand(error) => Some(error.field()),
            Self::Contour(_) => Some("contour"),
            Self::Color(_) => Some("color"),
            Self::Units(_) => Some("units"),
            Self::NotAboveZero(key) | Self::NotFinite(key) | Self::Beyond { key, .. } => Some(key),
            Self::Tab(_) => Some("tab"),
            Self::BlankTwice => Some("blank_mm"),
            Self::Overlap => Some("overlap_mm"),
            Self::SharpCorners(_) => Some("sharp_corners"),
        }
    }
}

impl DemandError {
    /// Says it.
    pub fn message(&self) -> Message {
        match self {
            Self::Finish { written, reason } | Self::Tolerance { written, reason } => {
                message!("{} `{}`: {}", self.field(), written, reason)
            }
            Self::StopAfter => {
                "stop_after: give the number of passes too, of which the later ones are left out".into()
            }
        }
    }

    /// Returns the key whose value cannot be read.
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Finish { .. } => "finish",
            Self::Tolerance { .. } => "tolerance",
            Self::StopAfter => "stop_after",
        }
    }
}
