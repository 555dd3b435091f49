//! `--verbose`: how long each step took, on standard error.
//!
//! The pipeline knows no clock. It marks the end of each step ([`log::debug!`]) and the start of a drawing ([`log::trace!`]); the
//! time between two marks of a thread is what the step took.

use std::cell::Cell;
use std::time::Instant;

use log::{Level, LevelFilter, Log, Metadata, Record};

use super::output;
use crate::report::plain_lines;

/// Prints the time of every mark.
struct Timings;

thread_local! {
    static LAST: Cell<Option<Instant>> = const { Cell::new(None) };
}

/// Prints the steps of each drawing from now on, or each drawing as a whole where there are many.
pub(super) fn tell(many_drawings: bool) {
    LAST.set(Some(Instant::now()));
    // Where the library is used by a program that has a logger of its own, that one stays.
    if log::set_logger(&Timings).is_ok() {
        log::set_max_level(if many_drawings {
            LevelFilter::Info
        } else {
            LevelFilter::Trace
        });
    }
}

impl Log for Timings {
    fn enabled(&self, metadata: &Metadata<'_>) -> bool {
        metadata.target().starts_with(env!("CARGO_CRATE_NAME"))
    }

    fn log(&self, record: &Record<'_>) {
        if !self.enabled(record.metadata()) {
            return;
        }
        let now = Instant::now();
        let began = LAST.replace(Some(now)).unwrap_or(now);
        if record.level() < Level::Trace {
            let ms = (now - began).as_secs_f64() * 1e3;
            let what = plain_lines(&record.args().to_string());
            output::tell(&format!("{ms:>10.3} ms  {what}\n"));
        }
    }

    fn flush(&self) {}
}
