//! Whatever the closed contour, the offset is a verified path or a refusal with a place: no panic, no hang, no number
//! that is none. From the top:
//!
//! ```sh
//! RUSTC_BOOTSTRAP=1 cargo +stable fuzz run -O offset -- -max_len=400 -timeout=5
//! ```
//!
//! An input that fails goes into `fixtures/once-failed/offset`.
#![no_main]

use kerfwright::geometry::Polyline;
use kerfwright::path;

libfuzzer_sys::fuzz_target!(
    init: {
        // Panics of the offset library are caught and judged as failed attempts; the fuzzer would stop at each. One
        // that nobody catches still stops it.
        std::panic::set_hook(Box::new(|_| {}));
    },
    |bytes: &[u8]| {
        let Some((first, rest)) = bytes.split_first() else { return };
        let offset_mm = (f64::from(*first) - 128.0) / 256.0;
        let vertices: Vec<_> = rest
            .as_chunks::<4>()
            .0
            .iter()
            .map(|[x, y, fine, bulge]| {
                let crumb = if bulge % 7 == 0 { 1e-4 * f64::from(*fine) } else { 0.0 };
                let bulge = if bulge % 2 == 0 { 0.0 } else { (f64::from(*bulge) - 128.0) / 100.0 };
                (f64::from(*x) / 16.0 + crumb, f64::from(*y) / 16.0, bulge)
            })
            .collect();
        let contour = Polyline::closed(vertices);
        match path::offset(&contour, offset_mm) {
            Ok(offset) => {
                assert!(offset.verified_mm <= kerfwright::tolerance::PATH_MM);
                assert!(offset.loops.iter().all(|l| l.length().is_finite() && l.length() > 0.0));
            }
            Err(refused) => assert!(!refused.reason.is_empty() && refused.at.is_finite()),
        }
    }
);
