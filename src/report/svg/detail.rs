//! How much of a large drawing is drawn. A sheet stays small enough to open whatever it shows; what it then leaves
//! out is said on it, and the other files hold everything.

use super::Content;
use super::view::View;
use crate::geometry::Polyline;
use crate::id::PassNo;
use crate::message::number::counted;

/// What a sheet leaves out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Detail {
    /// Nothing: every curve exactly, with a hover text.
    All,
    /// Curves of a kind as one path without hover texts, steps below this dropped (mm of the sheet), and of the passes
    /// only the first and the last.
    Coarse { step_mm: f64 },
}

/// Segments of contours and paths up to which everything is drawn.
const ALL_SEGMENTS: usize = 40_000;
/// Points that the lines of a coarse sheet have at most, beside those that every loop needs.
const COARSE_POINTS: f64 = 60_000.0;
/// No step is coarser than this, mm of the sheet.
const FINEST_STEP_MM: f64 = 0.02;

impl Detail {
    pub(super) fn of(content: &Content<'_>, view: &View) -> Self {
        let contours = content
            .inspection
            .contours
            .list
            .iter()
            .map(|contour| &contour.polyline);
        let wires = content
            .plan
            .iter()
            .flat_map(|plan| &plan.toolpaths.loops)
            .map(|wire| &wire.polyline);
        let segments: usize = contours.clone().chain(wires).map(Polyline::segment_count).sum();
        if segments <= ALL_SEGMENTS {
            return Self::All;
        }
        let length_mm: f64 = contours.map(Polyline::length).sum::<f64>() * view.scale;
        Self::Coarse {
            step_mm: FINEST_STEP_MM.max(length_mm / COARSE_POINTS),
        }
    }

    pub(super) fn is_all(self) -> bool {
        self == Self::All
    }

    /// Returns the length of the part below which steps are drawn together, mm; 0 where everything is drawn.
    pub(super) fn finest_mm(self, view: &View) -> f64 {
        match self {
            Self::All => 0.0,
            Self::Coarse { step_mm } => step_mm / view.scale,
        }
    }

    /// Whether pass number `pass` of `passes` is drawn.
    pub(super) fn shows_pass(self, pass: PassNo, passes: usize) -> bool {
        self.is_all() || pass.is_rough() || pass.number() == passes
    }

    /// Path data of a polyline.
    pub(super) fn data(self, view: &View, polyline: &Polyline) -> String {
        match self {
            Self::All => view.data(polyline),
            Self::Coarse { step_mm } => view.coarse_data(polyline, step_mm),
        }
    }

    /// What is left out, in words; `None` where nothing is.
    pub(super) fn words(self, content: &Content<'_>) -> Option<String> {
        if self.is_all() {
            return None;
        }
        let contours = counted(content.inspection.contours.list.len(), "contour");
        let passes = content.plan.map_or(0, |plan| {
            plan.groups
                .iter()
                .map(|group| group.passes().len())
                .max()
                .unwrap_or(0)
        });
        Some(if passes > 2 {
            format!("{contours}: of the passes only the first and the last are drawn; JSON and DXF hold all")
        } else {
            format!("{contours}: drawn without their finest detail; JSON and DXF hold all")
        })
    }
}
