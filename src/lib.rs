//! kerfwright reads a 2D DXF profile, checks it, computes the exact wire-offset path of every pass of a wire
//! EDM job, and estimates time and cost.
//!
//! # Conventions
//!
//! Millimetres, radians, y up, counter-clockwise positive. A *bulge* is the tangent of a quarter of the sweep of
//! an arc, positive when the arc turns left. Units stand in the name (`offset_mm`, `minutes`) or in the type.
//! Lines and arcs are exact; ellipses and splines become arcs within a stated distance. What is wrong with a
//! drawing is a *finding*, with a name and a place; an `Err` means that nothing could be done.
//!
//! # The pipeline
//!
//! ```text
//! bytes ─▶ dxf ─▶ drawing ─▶ contour ─▶ question ─┬─▶ toolpath ─▶ process ─▶ estimate ─▶ check ─▶ plan ─▶ report ─▶ serve, cli
//!                                 shop ─▶ pass ───┘
//! ```
//!
//! A module imports only modules that stand before it in the list below. [`Planner`] runs the whole of it, without files, clock or
//! terminal: it is the one way in. What it takes and returns is named in [`types`], and [`report`] turns it into files.
//!
//! ```
//! use std::f64::consts::{PI, TAU};
//!
//! use kerfwright::{Book, JobFile, Planner};
//!
//! // A rectangle of 40 × 20 mm, out of 60 mm of tool steel, with 0.25 mm wire in four passes.
//! let drawing = std::fs::read("fixtures/shapes/rectangle-40x20.dxf")?;
//! let job = JobFile::new("tool-steel", 60.0).wire_mm(0.25).passes(4_usize);
//! let book = Book::built_in()?;
//! let plan = Planner::new(&book).job(&job).plan("rectangle-40x20.dxf", drawing)?;
//!
//! // Offset of each pass: half the wire + spark gap + stock left for the later passes.
//! let offsets_um: Vec<f64> = plan.groups[0].passes().iter().map(|pass| (pass.offset_mm * 1e3).round()).collect();
//! assert_eq!(offsets_um, [197.0, 152.0, 137.0, 130.0]);
//!
//! // The wire runs round the outside of a convex part, so Steiner's formula holds for its path.
//! let last = &plan.toolpaths.loops[3];
//! assert!((last.length_mm - (120.0 + TAU * 0.130)).abs() < 1e-9);
//! assert!((last.polyline.area() - (800.0 + 120.0 * 0.130 + PI * 0.130 * 0.130)).abs() < 1e-9);
//! assert!(last.verified_mm < 1e-4);
//!
//! // Minutes of each pass are path length × thickness ÷ area rate.
//! let rough = &plan.estimate.cut.rows[0];
//! let minutes = rough.path_length_mm.unwrap() * 60.0 / plan.groups[0].passes()[0].area_rate_mm2_min.expected;
//! assert!((rough.minutes.unwrap().expected - minutes).abs() < 1e-9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Features
//!
//! | feature | what it adds |
//! |---|---|
//! | `cli` | the command `kerfwright` |
//! | `page` | `serve::Site`: the answers of the page, without a socket |
//! | `serve` | its listener; with `page` |
//! | `dxf-out` | `report::dxf`: the paths as DXF |
//! | `internals` | the rooms themselves, for tests, benchmarks and fuzzing. No promise: they change with every version |
//!
//! All but the last are on by default; a library needs none of them.

// What a room holds for tests, the command or the listener is no flaw of a build without them.
#![cfg_attr(
    not(all(feature = "internals", feature = "cli", feature = "serve")),
    allow(dead_code, unreachable_pub, unused_imports)
)]
#![warn(unnameable_types)]
// Of the elementary functions, see there.
#![cfg_attr(not(test), warn(clippy::disallowed_methods))]

/// Declares the rooms: private, but for tests, benchmarks and fuzzing. A macro of this name is the one that `cargo fmt` looks into.
macro_rules! cfg_if {
    (if #[cfg($internals:meta)] { $(pub mod $room:ident;)+ }) => {
        $(
            #[cfg($internals)]
            #[doc(hidden)]
            pub mod $room;
            #[cfg(not($internals))]
            mod $room;
        )+
    };
}

cfg_if! {
    if #[cfg(feature = "internals")] {
        pub mod elementary;
        pub mod tolerance;
        pub mod cancel;
        pub mod units;
        pub mod id;
        pub mod message;
        pub mod geometry;
        pub mod finding;
        pub mod shop;
        pub mod job;
        pub mod dxf;
        pub mod drawing;
        pub mod contour;
        pub mod question;
        pub mod pass;
        pub mod toolpath;
        pub mod process;
        pub mod estimate;
        pub mod calibrate;
        pub mod gauge;
        pub mod check;
        pub mod plan;
    }
}
pub mod report;
#[cfg(feature = "page")]
pub mod serve;
#[cfg(feature = "cli")]
#[doc(hidden)]
#[allow(unnameable_types)]
pub mod cli;
pub mod types;

pub use crate::cancel::CancelToken;
pub use crate::job::{JobFile, JobPart};
pub use crate::plan::{Alternatives, Comparison, Error, Inspection, Plan, Planner};
pub use crate::shop::Book;
