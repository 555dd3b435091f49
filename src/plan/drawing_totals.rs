//! Adds up an inspected drawing.

use serde::Serialize;

use super::Inspection;
use crate::job::Purpose;

/// Sums over an inspected drawing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct DrawingTotals {
    /// Length of all visible curves as drawn, mm, before duplicates, gaps or refits.
    pub curve_length_mm: f64,
    /// Number of closed contours.
    pub closed_contours: usize,
    /// Number of chains that do not close.
    pub open_chains: usize,
    /// Perimeter of all loops that are to be cut, and length of all open cuts as drawn, mm.
    pub cut_perimeter_mm: f64,
}

impl Inspection {
    /// Adds up the curves and contours.
    pub fn totals(&self) -> DrawingTotals {
        let contours = &self.contours.list;
        let closed = contours.iter().filter(|contour| contour.polyline.closed);
        DrawingTotals {
            curve_length_mm: self.drawing.curves.iter().map(|curve| curve.length_mm).sum(),
            closed_contours: closed.clone().count(),
            open_chains: contours.len() - closed.clone().count(),
            cut_perimeter_mm: contours
                .iter()
                .filter(|contour| {
                    contour.purpose.is_open_cut()
                        || (contour.purpose == Purpose::Cut && contour.polyline.closed)
                })
                .map(|contour| contour.perimeter_mm)
                .sum(),
        }
    }
}
