//! What people and programs read: one file a format. Each owns its own serialised shapes.
//!
//! ```
//! use kerfwright::{Book, JobFile, Planner, report};
//!
//! let (book, drawing) = (Book::built_in()?, std::fs::read("fixtures/shapes/stadium.dxf")?);
//! let job = JobFile::new("tool-steel", 20.0).wire_mm(0.25).passes(2_usize);
//! let plan = Planner::new(&book).job(&job).plan("stadium.dxf", drawing)?;
//! assert!(report::svg::plan(&plan, report::Lengths::Mm).contains("<svg"));
//! assert!(report::json::plan(&plan).contains("\"offset_mm\""));
//! let sheet = report::html::plan(&plan, None);
//! assert!(sheet.starts_with("<!DOCTYPE html>"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod csv;
#[cfg(feature = "dxf-out")]
pub mod dxf;
pub mod html;
pub mod json;
mod job_file;
pub mod quote;
pub mod svg;
#[cfg(feature = "cli")]
pub mod terminal;
mod markdown;
mod pieces;
mod sides;
mod steps;
mod cautions;
mod drift_words;
mod inks;
mod view;
mod words;
#[cfg(test)]
mod hostile;
#[cfg(test)]
mod sample;

use crate::contour::Contour;
use crate::drawing::Drawing;
use crate::id::GroupId;
use crate::plan::Plan;
use crate::shop::Figure;

pub use crate::message::Lengths;
pub(crate) use crate::message::number::{plain, plain_lines};
pub use job_file::reading_job;
pub use markdown::checks_markdown;
pub use view::Coverage;

/// Layer of a contour's first curve; empty when it has none.
fn layer_of<'a>(contour: &Contour, drawing: &'a Drawing) -> &'a str {
    let curve = contour
        .curves
        .first()
        .and_then(|&curve| drawing.curves.get(curve));
    let layer = curve.and_then(|curve| drawing.layers.get(curve.origin.layer as usize));
    layer.map_or("", |layer| &layer.name)
}

/// Returns every figure of a plan: those of each demand group, with its number, then those of the job.
fn figures(plan: &Plan) -> Vec<(Option<GroupId>, &Figure)> {
    let of_groups = plan.groups.iter().flat_map(|group| {
        let figures = group.schedule.figures();
        figures.map(move |figure| (Some(group.group), figure))
    });
    let of_job = plan.figures().into_iter().map(|figure| (None, figure));
    of_groups.chain(of_job).collect()
}
