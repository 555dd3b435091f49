//! Whatever the log of finished jobs, its rows are taken or refused with their line, and calibrating returns. From the
//! top:
//!
//! ```sh
//! RUSTC_BOOTSTRAP=1 cargo +stable fuzz run -O job_log fuzz/corpus/job_log fixtures/shop -- -max_len=8000 -timeout=5
//! ```
//!
//! An input that fails goes into `fixtures/once-failed/job_log`.
#![no_main]

use std::sync::LazyLock;

use kerfwright::calibrate;
use kerfwright::shop::{Book, MinutesHold};

static BOOK: LazyLock<Book> = LazyLock::new(|| Book::built_in().expect("the built-in book"));

libfuzzer_sys::fuzz_target!(|text: &str| {
    let log = calibrate::read_log(text, Some(MinutesHold::SetUpToFinished));
    let calibrated = calibrate::calibrate(&BOOK, &log.jobs);
    let fragment = calibrated.fragment(&BOOK);
    assert!(Book::layered(&fragment).is_ok(), "a fragment that the book refuses:\n{fragment}");
});
