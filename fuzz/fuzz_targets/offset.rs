//! Whatever the closed contour, the offset is a verified path or a refusal with a place: no panic, no hang, no number
//! that is none. From the top:
//!
//! ```sh
//! RUSTC_BOOTSTRAP=1 cargo +stable fuzz run -O offset -- -max_len=400 -timeout=5
//! ```
//!
//! An input that fails goes into `fixtures/once-failed/offset`.
#![no_main]

#[path = "../inputs/contour.rs"]
mod contour;

use kerfwright::toolpath;

libfuzzer_sys::fuzz_target!(
    init: {
        // Panics of the offset library are caught and judged as failed attempts; the fuzzer would stop at each. One
        // that nobody catches still stops it.
        std::panic::set_hook(Box::new(|_| {}));
    },
    |bytes: &[u8]| {
        let Some((contour, offset_mm)) = contour::contour(bytes) else {
            return;
        };
        match toolpath::offset(&contour, offset_mm) {
            Ok(offset) => {
                assert!(offset.verified_mm <= kerfwright::tolerance::PATH_MM);
                assert!(offset.loops.iter().all(|l| l.length().is_finite() && l.length() > 0.0));
            }
            Err(refused) => assert!(refused.at.is_finite()),
        }
    }
);
