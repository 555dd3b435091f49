//! Answers readings that are typed on the page, or read from a file there.

use super::refusal::RequestRefusal;
use crate::gauge::{drift, gauging, read_drift_log, read_readings};
use crate::report::{self, Lengths};
use crate::shop::Book;

/// Works out what the readings of a test piece say, and what of it goes into the book.
pub(super) fn gauged(book: &Book, bytes: &[u8], lengths: Lengths) -> Result<String, RequestRefusal> {
    let readings = read_readings(text(bytes)?, &book.gauging);
    let gauged = readings.and_then(|readings| gauging(book, &readings));
    let gauged = gauged.map_err(|error| {
        refused(
            &error.to_string(),
            "correct the row, or start from the form of the test piece",
        )
    })?;
    let fragment = gauged.fragment(book);
    Ok(report::json::test_piece_on_page(&gauged, fragment, lengths))
}

/// Works out how finished walls drift.
pub(super) fn drifting(bytes: &[u8], lengths: Lengths) -> Result<String, RequestRefusal> {
    let found = drift(read_drift_log(text(bytes)?));
    if found.recipes.is_empty() {
        let flaws: Vec<String> = found.flaws.iter().map(ToString::to_string).collect();
        let reason = if flaws.is_empty() {
            "there is no reading in it".to_owned()
        } else {
            flaws.join("; ")
        };
        return Err(refused(
            &reason,
            "a row a reading, with the columns kind (part or opening), target_mm and measured_mm",
        ));
    }
    Ok(report::json::walls_on_page(&found, lengths))
}

fn text(bytes: &[u8]) -> Result<&str, RequestRefusal> {
    std::str::from_utf8(bytes).map_err(|_| {
        refused(
            "the readings are no text in UTF-8",
            "save the table as CSV in UTF-8",
        )
    })
}

fn refused(sentence: &str, remedy: &str) -> RequestRefusal {
    RequestRefusal::new("readings", sentence, remedy)
}
