//! The names of a job, held against the drawing.

use super::Error;
use crate::contour::{self, Contours, MissingName, missing_names};
use crate::drawing::{self, Drawing};
use crate::dxf;
use crate::job::{JobFile, NameKind, Reading};

/// The names that stand for nothing and may, since they are given for several drawings; an error where one does that may
/// not.
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

/// The names of a job that stand for nothing in a drawing. Nothing is measured and nothing is planned for it.
pub fn names_missing(bytes: &[u8], job: &JobFile) -> Result<Vec<MissingName>, Error> {
    let (reading, uses) = (job.reading()?, job.uses()?);
    let drawing = drawing::from_document(&dxf::read(bytes)?, &reading)?;
    let numbers = reading.names.iter().any(|name| name.kind == NameKind::Contour);
    let contours = numbers.then(|| contour::chain(&drawing, &reading, &uses));
    Ok(missing_names(&drawing, contours.as_ref(), &reading.names))
}
