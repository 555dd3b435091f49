//! Adds up an inspected drawing.

use super::Inspection;
use crate::job::Purpose;

/// Sums over an inspected drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct DrawingTotals {
    /// Length of all visible curves as drawn, mm.
    pub curve_length_mm: f64,
    /// Contours that are loops.
    pub closed_contours: usize,
    /// Contours that are not.
    pub open_chains: usize,
    /// Perimeter of all loops that are to be cut, mm.
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
            cut_perimeter_mm: closed
                .filter(|contour| contour.purpose == Purpose::Cut)
                .map(|contour| contour.perimeter_mm)
                .sum(),
        }
    }
}
