//! Signs that pictures share, and what is large enough for a label.

use svg::node::element::Circle;

use super::sheet::{SheetSpot, coordinate};

/// A contour smaller than this on the sheet has neither number nor arrow, mm.
pub(super) const LABELLED: f64 = 5.0;
/// Most labels of a kind.
pub(super) const MOST_LABELS: usize = 150;

/// Radius of the sign of a place that is not reached, mm.
pub(super) const RING: f64 = 0.9;

/// The sign of a place that is not reached.
pub(super) fn ring(at: SheetSpot) -> Circle {
    dot("unreached", at, RING)
}

pub(super) fn dot(class: &str, at: SheetSpot, radius: f64) -> Circle {
    Circle::new()
        .set("class", class)
        .set("cx", coordinate(at.x))
        .set("cy", coordinate(at.y))
        .set("r", coordinate(radius))
}
