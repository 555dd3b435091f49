//! What the curves of a drawing are for.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::file::number;
use super::{JobFile, JobFileError};

/// What a curve or contour of the drawing is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "Use"))]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// To be cut; the side that stays follows from the edges around it.
    Cut,
    /// To be cut: the material inside stays. Of a contour alone.
    Part,
    /// To be cut: the material outside stays. Of a contour alone.
    Opening,
    /// Already machined: measured and shown, not cut, but it bounds material.
    Existing,
    /// Not cut this time: measured and shown, and it bounds material.
    NotNow,
    /// A hole to thread the wire through.
    StartHole,
    /// The outline of the blank.
    Blank,
    /// Shown for orientation only (centre lines, notes).
    Reference,
    /// Left out altogether.
    Ignore,
}

impl Purpose {
    /// Whether material ends at a closed curve of this purpose.
    pub const fn is_edge(self) -> bool {
        match self {
            Self::Cut | Self::Part | Self::Opening | Self::Existing | Self::NotNow => true,
            Self::StartHole | Self::Blank | Self::Reference | Self::Ignore => false,
        }
    }
}

/// The purpose of each curve. The first rule that applies wins: contour number, layer, `cut_layers`, linetype
/// and colour; else linetype custom (centre, hidden and phantom lines are not cut); else [`Purpose::Cut`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Purposes {
    /// By contour number, as `inspect` prints it.
    pub contours: BTreeMap<usize, Purpose>,
    /// By layer name, without case.
    pub layers: BTreeMap<String, Purpose>,
    /// When not empty, every layer not named here (or in `layers`) is [`Purpose::NotNow`], but for curves whose linetype shows no edge.
    pub cut_layers: Vec<String>,
    /// By linetype name, without case.
    pub linetypes: BTreeMap<String, Purpose>,
    /// By colour number.
    pub colors: BTreeMap<i32, Purpose>,
    /// Full circles to be cut that are smaller across than this are start holes, mm.
    pub start_holes_under_mm: Option<f64>,
}

impl JobFile {
    /// What the layers and contours are for.
    pub fn uses(&self) -> Result<Purposes, JobFileError> {
        let mut uses = Purposes {
            cut_layers: self.cut_layers.clone(),
            start_holes_under_mm: self.start_holes_under_mm,
            ..Purposes::default()
        };
        for layer in &self.ignore_layers {
            uses.layers.insert(layer.to_lowercase(), Purpose::Ignore);
        }
        for (layer, part) in &self.layers {
            if let Some(purpose) = part.purpose {
                uses.layers
                    .insert(layer.to_lowercase(), of_many("layer", layer, purpose)?);
            }
        }
        for (name, part) in &self.contours {
            if let Some(purpose) = part.purpose {
                uses.contours.insert(number(name)?, purpose);
            }
        }
        for (name, of) in &self.linetypes {
            uses.linetypes
                .insert(name.to_lowercase(), of_many("linetype", name, of.purpose)?);
        }
        for (name, of) in &self.colors {
            let number = name.parse().map_err(|_| JobFileError::Color(name.clone()))?;
            uses.colors.insert(number, of_many("colour", name, of.purpose)?);
        }
        Ok(uses)
    }
}

/// A purpose of many contours at once, which says nothing of their side.
fn of_many(what: &'static str, name: &str, purpose: Purpose) -> Result<Purpose, JobFileError> {
    match purpose {
        Purpose::Part | Purpose::Opening => Err(JobFileError::SideOfMany {
            what,
            name: name.to_owned(),
        }),
        other => Ok(other),
    }
}
