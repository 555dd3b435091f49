//! What may move when it is cut: material that held stress in balance is gone.

use super::blank::RawBlank;
use super::piece::PieceKind;
use super::separation::Separation;
use crate::contour::{Contours, Role};
use crate::geometry::Point;
use crate::id::ContourId;
use crate::job::Purpose;
use crate::shop::HoldingRule;

/// A part or an opening that may move.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct DistortionRisk {
    /// Number of the contour.
    pub contour: ContourId,
    /// Where.
    pub at: Point,
    /// Why.
    pub reason: DistortionReason,
    /// What was found.
    pub found: f64,
    /// What it was held against.
    pub limit: f64,
}

/// Why something may move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum DistortionReason {
    /// The square of its diagonal over its area: 2 for a square, about length over width for a long bar.
    Slender,
    /// The share that an opening takes of what it is cut from.
    BigOpening,
}

/// All that may move, in the order of the contours' numbers.
pub fn distortion_risks(
    contours: &Contours,
    separations: &[Separation],
    blank: Option<&RawBlank>,
    rule: &HoldingRule,
) -> Vec<DistortionRisk> {
    let (slender_from, opening_share) = (rule.slender_from.value(), rule.opening_share.value());
    let slender = separations.iter().map(|s| &s.piece).filter_map(|piece| {
        let contour = contours.get(piece.contour)?;
        let diagonal_mm = contour.bounds.diagonal();
        let found = diagonal_mm * diagonal_mm / piece.area_mm2;
        (piece.kind == PieceKind::Part && contour.polyline.closed && found > slender_from).then_some(
            DistortionRisk {
                contour: contour.id,
                at: piece.centroid,
                reason: DistortionReason::Slender,
                found,
                limit: slender_from,
            },
        )
    });
    let openings = contours
        .list
        .iter()
        .filter(|c| c.purpose == Purpose::Cut && c.role == Role::Opening);
    let blank_area_mm2 = blank.map(|blank| blank.outline.area().abs());
    let big = openings.filter_map(|contour| {
        let around = contour.parent.and_then(|parent| contours.get(parent));
        let whole_mm2 = around.map(|around| around.area_mm2).or(blank_area_mm2)?;
        let found = contour.area_mm2 / whole_mm2;
        (found > opening_share).then_some(DistortionRisk {
            contour: contour.id,
            at: contour.polyline.centroid(),
            reason: DistortionReason::BigOpening,
            found,
            limit: opening_share,
        })
    });
    let mut all: Vec<DistortionRisk> = slender.chain(big).collect();
    all.sort_by_key(|place| place.contour);
    all
}
