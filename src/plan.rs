//! The whole pipeline as one call, no files and no terminal.

use thiserror::Error;

use crate::contour::Contours;
use crate::drawing::Drawing;
use crate::finding::Finding;
use crate::job::{Reading, Uses};
use crate::{check, dxf};

/// Why nothing could be planned.
#[derive(Debug, Error)]
pub enum Error {
    /// The drawing cannot be read.
    #[error(transparent)]
    Dxf(#[from] dxf::Error),
}

/// A drawing, read, measured and checked.
#[derive(Debug)]
pub struct Inspection {
    /// Base name of the file.
    pub file: String,
    /// The drawing.
    pub drawing: Drawing,
    /// Its contours.
    pub contours: Contours,
    /// What the checks found, worst first.
    pub findings: Vec<Finding>,
    /// What was taken for granted, in words.
    pub assumptions: Vec<String>,
}

/// What the plan was asked for.
#[derive(Debug)]
pub struct Ask {
    /// Thickness of the blank, mm.
    pub thickness_mm: f64,
    /// Name of the material in the book.
    pub material: String,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Number of passes.
    pub passes: usize,
    /// Shift of the finished wall into the material, mm.
    pub aim_mm: f64,
}

/// A plan.
#[derive(Debug)]
pub struct Plan {
    /// The drawing.
    pub inspection: Inspection,
    /// What was asked for.
    pub ask: Ask,
    /// Passes of each group of contours.
    pub groups: Vec<crate::pass::Group>,
    /// The wire's paths.
    pub paths: crate::path::Paths,
    /// What all checks found, worst first.
    pub findings: Vec<Finding>,
}

/// Reads, measures and checks a drawing.
pub fn inspect(_file: &str, bytes: &[u8], _reading: &Reading, _uses: &Uses) -> Result<Inspection, Error> {
    dxf::read(bytes)?;
    let _ = check::ALL;
    Err(Error::Dxf(dxf::Error::Empty))
}
