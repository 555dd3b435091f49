//! Holds the files of the page.

/// A file as it is sent.
#[derive(Debug)]
pub(super) struct Asset {
    path: &'static str,
    /// Its content type.
    pub(super) kind: &'static str,
    /// What is in it.
    pub(super) content: &'static [u8],
}

const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";
const SVG: &str = "image/svg+xml";
const DXF: &str = "application/dxf";
const CSV: &str = "text/csv; charset=utf-8";

/// `page(path, kind, file)` for the files of the page itself, `demo` for the drawings to try.
macro_rules! files {
    ($folder:literal; $($path:literal $kind:ident $file:literal),* $(,)?) => {
        [$(Asset { path: $path, kind: $kind, content: include_bytes!(concat!($folder, $file)) }),*]
    };
}

static PAGE: [Asset; 30] = files!["page/";
    "/" HTML "index.html",
    "/page.css" CSS "page.css",
    "/favicon.ico" SVG "icon.svg",
    "/asking.js" SCRIPT "asking.js",
    "/carrier.js" SCRIPT "carrier.js",
    "/cells.js" SCRIPT "cells.js",
    "/drawing.js" SCRIPT "drawing.js",
    "/focus.js" SCRIPT "focus.js",
    "/handles.js" SCRIPT "handles.js",
    "/help.js" SCRIPT "help.js",
    "/job.js" SCRIPT "job.js",
    "/leaves.js" SCRIPT "leaves.js",
    "/list.js" SCRIPT "list.js",
    "/magnifier.js" SCRIPT "magnifier.js",
    "/main.js" SCRIPT "main.js",
    "/measure.js" SCRIPT "measure.js",
    "/mend.js" SCRIPT "mend.js",
    "/menu.js" SCRIPT "menu.js",
    "/pair.js" SCRIPT "pair.js",
    "/pick.js" SCRIPT "pick.js",
    "/player.js" SCRIPT "player.js",
    "/printing.js" SCRIPT "printing.js",
    "/questions.js" SCRIPT "questions.js",
    "/readings.js" SCRIPT "readings.js",
    "/results.js" SCRIPT "results.js",
    "/sections.js" SCRIPT "sections.js",
    "/shop.js" SCRIPT "shop.js",
    "/stamp.js" SCRIPT "stamp.js",
    "/wire.js" SCRIPT "wire.js",
    "/words.js" SCRIPT "words.js",
];

static DEMO: [Asset; 5] = files!["../../fixtures/clock/";
    "/demo/hand-die.dxf" DXF "hand-die.dxf",
    "/demo/hand-punch.dxf" DXF "hand-punch.dxf",
    "/demo/ratchet.dxf" DXF "ratchet.dxf",
    "/demo/escape-wheel.dxf" DXF "escape-wheel.dxf",
    "/demo/decorative-hand.dxf" DXF "decorative-hand.dxf",
];

static EXAMPLES: [Asset; 2] = files!["../../fixtures/shop/";
    "/example/test-piece-readings.csv" CSV "test-piece-readings.csv",
    "/example/wall-readings.csv" CSV "wall-readings.csv",
];

/// Returns the file at a path of the page.
pub(super) fn named(path: &str) -> Option<&'static Asset> {
    PAGE.iter()
        .chain(&DEMO)
        .chain(&EXAMPLES)
        .find(|asset| asset.path == path)
}

#[cfg(test)]
pub(super) fn paths() -> impl Iterator<Item = &'static str> {
    PAGE.iter().chain(&DEMO).chain(&EXAMPLES).map(|asset| asset.path)
}
