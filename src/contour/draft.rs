//! A contour on its way: chained, not yet measured.

use super::contacts::ContourView;
use crate::geometry::Polyline;

/// A contour that is not yet measured.
pub(super) struct DraftContour {
    pub polyline: Polyline,
    /// Curves in order.
    pub curves: Vec<usize>,
    /// Curve of each segment; empty when there is only one curve.
    pub sources: Vec<u32>,
    pub branched: bool,
    /// A loop that repeats an earlier one: not to be cut again.
    pub double: bool,
}

impl DraftContour {
    pub(super) fn view(&self) -> ContourView<'_> {
        ContourView {
            polyline: &self.polyline,
            curves: &self.curves,
            sources: &self.sources,
            passed_over: self.double,
        }
    }

    /// The curve that segment `i` comes from.
    pub(super) fn curve_of(&self, i: usize) -> usize {
        self.sources
            .get(i)
            .map_or(self.curves[0], |&curve| curve as usize)
    }
}
