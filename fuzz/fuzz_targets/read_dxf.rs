//! Whatever the bytes, the reader returns: no panic, no hang, memory in proportion to the input.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let _ = kerfwright::dxf::read(bytes);
});
