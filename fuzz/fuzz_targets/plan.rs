//! Whatever a drawing holds that can be read, it is planned or refused: no panic, no hang, no path beyond its bound, no number that is none.
//! Drawings are changed entity by entity, so that most of them get as far as their paths. From the top:
//!
//! ```sh
//! RUSTC_BOOTSTRAP=1 cargo +stable fuzz run -O plan fuzz/corpus/plan fixtures/shapes fixtures/clock fixtures/cases -- \
//!     -max_len=20000 -timeout=20
//! ```
//!
//! An input that fails goes into `fixtures/once-failed/plan`.
#![no_main]

#[path = "../inputs/planned.rs"]
mod planned;
#[path = "../inputs/tags.rs"]
mod tags;

use std::sync::LazyLock;

use kerfwright::shop::Book;

static BOOK: LazyLock<Book> = LazyLock::new(|| Book::built_in().expect("the built-in book"));

libfuzzer_sys::fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    let changed = std::str::from_utf8(&data[..size]).ok().and_then(|text| tags::changed(text, seed));
    match changed.filter(|text| text.len() <= max_size) {
        // Now and then any byte.
        Some(text) if seed % 16 > 0 => {
            data[..text.len()].copy_from_slice(text.as_bytes());
            text.len()
        }
        _ => libfuzzer_sys::fuzzer_mutate(data, size, max_size),
    }
});

libfuzzer_sys::fuzz_target!(
    init: {
        // Panics of the offset library are caught and judged as failed attempts; one that nobody catches still stops the fuzzer.
        std::panic::set_hook(Box::new(|_| {}));
    },
    |bytes: &[u8]| {
        planned::planned(bytes, &BOOK);
    }
);
