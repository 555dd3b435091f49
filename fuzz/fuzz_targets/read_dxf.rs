//! Whatever the bytes, the reader returns: no panic, no hang, memory in proportion to the input. From the top:
//!
//! ```sh
//! RUSTC_BOOTSTRAP=1 cargo +stable fuzz run -O read_dxf fuzz/corpus/read_dxf fixtures/cases -- \
//!     -dict=fuzz/read_dxf.dict -max_len=40000 -timeout=2 -malloc_limit_mb=64
//! ```
//!
//! An input that fails goes into `fixtures/cases` with a test of the right answer.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let _ = kerfwright::dxf::read(bytes);
});
