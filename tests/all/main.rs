//! All tests from outside the crate in one program, linked with the crate once. The page in a browser (`tests/page`), what the
//! system refuses (`tests/faults.rs`) and greedy clients (`tests/load.rs`) stay apart, since they need the machine to themselves.

mod answers;
mod architecture;
mod checks_contour;
mod checks_drawing;
mod checks_path;
mod circles;
mod cli;
mod common;
mod demand;
mod demo;
mod drawing_cases;
mod figures;
mod fixtures;
mod gallery;
mod guide;
mod inches;
mod monotone;
mod names;
mod once_failed;
mod path_properties;
mod paths_against_polygons;
mod questions;
mod quote;
mod random;
mod reading;
mod real_drawings;
mod real_paths;
mod reference;
mod running;
mod sameness;
mod schemas;
mod sides;
mod sides_held;
mod totals;
mod without_tabs;
