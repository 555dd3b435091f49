//! Whatever the text of a shop's book or of a job file, it is taken or refused with its line: no panic, no hang; a job
//! file that is taken comes back from its own text. From the top:
//!
//! ```sh
//! RUSTC_BOOTSTRAP=1 cargo +stable fuzz run -O book_and_job fuzz/corpus/book_and_job fixtures/shop src/data -- \
//!     -max_len=8000 -timeout=5
//! ```
//!
//! An input that fails goes into `fixtures/once-failed/book_and_job`.
#![no_main]

use kerfwright::{job::JobFile, shop::Book};

libfuzzer_sys::fuzz_target!(|text: &str| {
    if let Ok(book) = Book::layered(text) {
        assert!(book.materials.keys().all(|name| !name.is_empty()));
    }
    if let Ok(job) = JobFile::parse(text)
        && let Ok(written) = job.to_text()
    {
        let again = JobFile::parse(&written).expect("a written job file is read again");
        assert_eq!(format!("{job:?}"), format!("{again:?}"));
    }
});
