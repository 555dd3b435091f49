//! Checks the names of a job against the drawing.

use super::Error;
use crate::contour::{self, Contours, MissingName, missing_names};
use crate::drawing::{self, Drawing};
use crate::dxf;
use crate::job::{JobFile, NameKind, Reading};

/// Returns the names that are missing in the drawing and may be, since they are given for several drawings; an error where
/// one is missing that may not be.
pub(super) fn missing(
    drawing: &Drawing,
    contours: Option<&Contours>,
    reading: &Reading,
) -> Result<Vec<MissingName>, Error> {
    let missing = missing_names(drawing, contours, &reading.names);
    let (told, names): (Vec<_>, Vec<_>) = missing
        .into_iter()
        .partition(|missing| reading.may_miss.contains(&missing.name));
    if names.is_empty() {
        Ok(told)
    } else {
        Err(Error::Names { names })
    }
}

/// Returns the names of a job that are missing in a drawing, without measuring or planning it.
pub fn names_missing(bytes: &[u8], job: &JobFile) -> Result<Vec<MissingName>, Error> {
    let (reading, uses) = (job.reading()?, job.uses()?);
    let drawing = drawing::from_document(&dxf::read(bytes)?, &reading)?;
    let numbers = reading.names.iter().any(|name| name.kind == NameKind::Contour);
    let contours = numbers.then(|| contour::chain(&drawing, &reading, &uses));
    Ok(missing_names(&drawing, contours.as_ref(), &reading.names))
}
