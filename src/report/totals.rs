use crate::job::Purpose;
use crate::plan::Inspection;

/// Sums over an inspected drawing.
pub(crate) struct Totals {
    /// Length of all visible curves as drawn, mm.
    pub(crate) curve_length_mm: f64,
    /// Contours that are loops.
    pub(crate) closed_contours: usize,
    /// Contours that are not.
    pub(crate) open_chains: usize,
    /// Perimeter of all loops that are to be cut, mm.
    pub(crate) cut_perimeter_mm: f64,
}

impl Totals {
    pub(crate) fn of(inspection: &Inspection) -> Self {
        let contours = &inspection.contours.list;
        let closed = contours.iter().filter(|contour| contour.polyline.closed);
        Self {
            curve_length_mm: inspection
                .drawing
                .curves
                .iter()
                .map(|curve| curve.length_mm)
                .sum(),
            closed_contours: closed.clone().count(),
            open_chains: contours.len() - closed.clone().count(),
            cut_perimeter_mm: closed
                .filter(|contour| contour.purpose == Purpose::Cut)
                .map(|contour| contour.perimeter_mm)
                .sum(),
        }
    }
}
