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
//! A module imports only modules that stand before it in the list below. [`plan::plan`] runs the whole of it,
//! without files, clock or terminal:
//!
//! ```
//! use std::f64::consts::{PI, TAU};
//!
//! use kerfwright::job::{Reading, Purposes};
//! use kerfwright::pass::PassRequest;
//! use kerfwright::plan;
//! use kerfwright::shop::Book;
//!
//! // A rectangle of 40 × 20 mm, out of 60 mm of tool steel, with 0.25 mm wire in four passes.
//! let drawing = std::fs::read("fixtures/shapes/rectangle-40x20.dxf")?;
//! let request = PassRequest::new("tool-steel", 60.0, 0.25, 4);
//! let plan = plan::plan(
//!     "rectangle-40x20.dxf",
//!     &drawing,
//!     &Reading::default(),
//!     &Purposes::default(),
//!     &Book::built_in()?,
//!     &request,
//! )?;
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

// A room is private for users: what only tests reach is no flaw there, and what they meet has a name.
#![cfg_attr(not(feature = "internals"), allow(dead_code, unreachable_pub, unused_imports))]
#![warn(unnameable_types)]

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
        pub mod tolerance;
        pub mod cancel;
        pub mod units;
        pub mod id;
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
