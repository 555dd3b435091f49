//! Whatever lines and arcs a drawing holds, chaining, nesting, measuring and the checks return. The bytes are taken
//! as curves on a coarse grid, so that ends meet, lines overlap and arcs touch far more often than by chance. From
//! the top:
//!
//! ```sh
//! RUSTC_BOOTSTRAP=1 cargo +stable fuzz run -O chain -- -max_len=2000 -timeout=5
//! ```
//!
//! An input that fails goes into `fixtures/once-failed/chain`.
#![no_main]

#[path = "../inputs/drawing.rs"]
mod drawing;

use std::sync::LazyLock;

use kerfwright::{Book, Planner};

static BOOK: LazyLock<Book> = LazyLock::new(|| Book::built_in().expect("the built-in book"));

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let text = drawing::drawing(bytes);
    let inspected = Planner::new(&BOOK).inspect("fuzz.dxf", text.as_bytes());
    let Ok(inspection) = inspected else { return };
    for contour in &inspection.contours.list {
        assert!(contour.perimeter_mm.is_finite() && contour.perimeter_mm >= 0.0);
        assert!(contour.area_mm2.is_finite());
    }
    for finding in &inspection.findings {
        assert!(finding.at.is_none_or(|at| at.is_finite()));
    }
});
