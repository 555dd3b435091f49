//! Inputs of the fuzzers that once hung or were answered wrongly, and the seeds that they begin from.

#[path = "../../fuzz/inputs/contour.rs"]
mod contour;
#[path = "../../fuzz/inputs/drawing.rs"]
mod drawing;
#[path = "../../fuzz/inputs/request.rs"]
mod request;

use std::fs;
use std::path::Path;

use kerfwright::job::JobFile;
use kerfwright::shop::{Book, MinutesHold};
use kerfwright::{Planner, calibrate, dxf, tolerance, toolpath};

use crate::common::book;

/// Every input of a target: `fixtures/once-failed` where it has any, and `fuzz/seeds`.
fn each_of(target: &str, mut check: impl FnMut(&str, &[u8])) {
    let mut seen = 0;
    for kept in ["fixtures/once-failed", "fuzz/seeds"] {
        let Ok(entries) = fs::read_dir(Path::new(kept).join(target)) else {
            continue;
        };
        for entry in entries {
            let file = entry.expect("listed").path();
            check(&file.display().to_string(), &fs::read(&file).expect("read"));
            seen += 1;
        }
    }
    assert!(seen > 0, "nothing is kept for {target}");
}

#[test]
fn drawings_are_read_or_refused() {
    each_of("read_dxf", |name, bytes| match dxf::read(bytes) {
        Ok(_) => {}
        Err(refused) => assert!(!refused.to_string().is_empty(), "{name}"),
    });
}

#[test]
fn curves_are_chained_and_checked() {
    each_of("chain", |name, bytes| {
        let text = drawing::drawing(bytes);
        let inspected = Planner::new(book()).inspect("fuzz.dxf", text.as_bytes());
        let inspection = inspected.unwrap_or_else(|error| panic!("{name}: {error}"));
        for contour in &inspection.contours.list {
            assert!(
                contour.perimeter_mm.is_finite() && contour.area_mm2.is_finite(),
                "{name}"
            );
        }
    });
}

#[test]
fn offsets_are_verified_or_refused() {
    each_of("offset", |name, bytes| {
        let (contour, offset_mm) = contour::contour(bytes).expect("a contour");
        match toolpath::offset(&contour, offset_mm) {
            Ok(offset) => assert!(offset.verified_mm <= tolerance::PATH_MM, "{name}"),
            Err(refused) => assert!(refused.at.is_finite(), "{name}"),
        }
    });
}

#[test]
fn books_and_jobs_are_taken_or_refused() {
    each_of("book_and_job", |name, bytes| {
        let text = std::str::from_utf8(bytes).expect("text");
        if let Err(refused) = Book::layered(text) {
            assert!(!refused.to_string().is_empty(), "{name}");
        }
        if let Ok(job) = JobFile::parse(text) {
            let again = JobFile::parse(&job.to_text().expect("written")).expect("read again");
            assert_eq!(format!("{job:?}"), format!("{again:?}"), "{name}");
        }
    });
}

#[test]
fn job_logs_are_taken_or_refused() {
    each_of("job_log", |name, bytes| {
        let text = std::str::from_utf8(bytes).expect("text");
        let log = calibrate::read_log(text, Some(MinutesHold::SetUpToFinished));
        let fragment = calibrate::calibrate(book(), &log.jobs).fragment(book());
        assert!(Book::layered(&fragment).is_ok(), "{name}: {fragment}");
    });
}

#[test]
fn requests_are_answered() {
    let site = request::site();
    each_of("respond", |_, bytes| {
        let request = request::request(bytes).expect("a request");
        request::answered(&site, &request);
    });
}
