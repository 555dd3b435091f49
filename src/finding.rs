//! The shape of a finding. Only [`crate::check`] makes them.

use serde::Serialize;

use crate::geometry::Point;
use crate::id::ContourId;
use crate::message::Message;
pub use mend::{Mend, MendedName};

mod mend;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum Severity {
    /// Do not cut before this is settled.
    Error,
    /// Look at this; it may be meant.
    Warning,
    /// Worth knowing.
    Note,
}

/// A value with its unit, as measured or as the limit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct Quantity {
    /// The number.
    pub value: f64,
    /// Its unit, as printed: `mm`, `µm`, `mm²`, `°`, or empty for a count.
    pub unit: &'static str,
}

/// One flaw or remark, with its place.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "FindingRow"))]
#[non_exhaustive]
pub struct Finding {
    /// What is wrong, in kebab-case, as `explain` takes it; unique to its check.
    pub name: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// Where on the drawing, mm; null where it has no place.
    #[serde(rename = "at_mm")]
    pub at: Option<Point>,
    /// Layer of the curve concerned.
    pub layer: Option<String>,
    /// Handles of the entities concerned, as written in the drawing (hexadecimal).
    pub entities: Vec<String>,
    /// Line in the DXF file where the first entity concerned begins.
    pub line: Option<usize>,
    /// Number of the contour concerned.
    pub contour: Option<ContourId>,
    /// What was found.
    pub measured: Option<Quantity>,
    /// What it was held against.
    pub limit: Option<Quantity>,
    /// Lower case, no full stop, with the value and the limit and their units.
    pub message: Message,
    /// What to do about it.
    pub remedy: Message,
    /// What to type on the command line to do it; null where nothing is.
    pub option: Option<String>,
    /// Changes of the job, each of which may settle it.
    #[serde(skip)]
    pub mends: Vec<Mend>,
    /// How many more of its name there are that are not listed: counted on the worst of them, 0 on the others.
    pub not_listed: usize,
}

impl Quantity {
    /// Makes a length in millimetres.
    pub const fn mm(value: f64) -> Self {
        Self { value, unit: "mm" }
    }

    /// Makes a small length, given in millimetres, shown in micrometres.
    pub fn um_of_mm(value_mm: f64) -> Self {
        Self {
            value: value_mm * crate::units::UM_PER_MM,
            unit: "µm",
        }
    }

    /// Makes a mass in kilograms.
    pub const fn kg(value: f64) -> Self {
        Self { value, unit: "kg" }
    }

    /// Makes a number of things.
    pub fn count(value: usize) -> Self {
        Self {
            value: value as f64,
            unit: "",
        }
    }

    /// Makes an angle, given in radians, shown in degrees.
    pub fn degrees_of_rad(value_rad: f64) -> Self {
        Self {
            value: value_rad.to_degrees(),
            unit: "°",
        }
    }
}

impl Finding {
    /// Makes a finding with no place yet; add what is known with the `with_…` calls.
    pub fn new(
        name: &'static str,
        severity: Severity,
        message: impl Into<Message>,
        remedy: impl Into<Message>,
    ) -> Self {
        Self {
            name,
            severity,
            at: None,
            layer: None,
            entities: Vec::new(),
            line: None,
            contour: None,
            measured: None,
            limit: None,
            message: message.into(),
            remedy: remedy.into(),
            option: None,
            mends: Vec::new(),
            not_listed: 0,
        }
    }

    /// Says where.
    #[must_use]
    pub fn at(mut self, at: Point) -> Self {
        self.at = Some(at);
        self
    }

    /// Says what to type; empty where nothing is.
    #[must_use]
    pub fn option(mut self, option: String) -> Self {
        self.option = (!option.is_empty()).then_some(option);
        self
    }

    /// Says which changes of the job may settle it, and with that what to type.
    #[must_use]
    pub fn mended_by(mut self, mends: Vec<Mend>) -> Self {
        let options: Vec<String> = mends.iter().filter_map(Mend::option).collect();
        self.mends = mends;
        self.option(options.join(", or "))
    }

    /// Says on which contour.
    #[must_use]
    pub fn on_contour(mut self, contour: ContourId) -> Self {
        self.contour = Some(contour);
        self
    }

    /// Says what was measured.
    #[must_use]
    pub fn measured(mut self, measured: Quantity) -> Self {
        self.measured = Some(measured);
        self
    }

    /// Sets its limit.
    #[must_use]
    pub fn limit(mut self, limit: Quantity) -> Self {
        self.limit = Some(limit);
        self
    }
}
