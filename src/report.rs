//! What people and programs read: one file a format. Each owns its own serialised shapes.

pub mod dxf;
pub mod html;
pub mod json;
pub mod svg;
pub mod terminal;
mod markdown;
mod number;
mod totals;
mod words;
#[cfg(test)]
mod sample;

use crate::contour::Contour;
use crate::drawing::Drawing;
use crate::finding::Finding;

pub use markdown::checks_markdown;

/// Layer of a contour's first curve; empty when it has none.
fn layer_of<'a>(contour: &Contour, drawing: &'a Drawing) -> &'a str {
    let curve = contour
        .curves
        .first()
        .and_then(|&curve| drawing.curves.get(curve));
    let layer = curve.and_then(|curve| drawing.layers.get(curve.origin.layer as usize));
    layer.map_or("", |layer| &layer.name)
}

/// Findings in runs of the same name, in their order.
fn same_name(findings: &[Finding]) -> impl Iterator<Item = &[Finding]> {
    findings.chunk_by(|a, b| a.name == b.name)
}
