//! Whatever a browser, or something that is none, sends to the page, it gets an answer: no panic, no hang, and no
//! answer without the headers that guard it. The first byte is the request line, the second the headers; what is asked
//! goes up to the first line end, and the rest is the body. From the top:
//!
//! ```sh
//! RUSTC_BOOTSTRAP=1 cargo +stable fuzz run -O respond fuzz/corpus/respond fuzz/seeds/respond -- \
//!     -max_len=6000 -timeout=10
//! ```
//!
//! An input that fails goes into `fixtures/once-failed/respond`.
#![no_main]

#[path = "../inputs/request.rs"]
mod request;

use std::sync::LazyLock;

use kerfwright::serve::Site;

static SITE: LazyLock<Site> = LazyLock::new(request::site);

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let Some(request) = request::request(bytes) else { return };
    request::answered(&SITE, &request);
});
