//! The length of the curves parallel to contours.

use std::f64::consts::TAU;

use crate::contour::Role;

/// The length of the curves parallel to some contours, known at one offset.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(not(feature = "internals"), non_exhaustive)]
pub struct ParallelLength {
    /// The offset at which it is known, mm.
    pub offset_mm: f64,
    /// The length there, mm.
    pub length_mm: f64,
    /// How many of the contours are cut round the outside.
    pub outsides: usize,
    /// How many are openings that the wire enters there.
    pub openings: usize,
}

impl ParallelLength {
    /// Computes a length that is not above the real one where `offset_mm` is not above the offset at which it is known, mm. It is
    /// exact for convex and smooth contours (Steiner's formula) at every offset.
    pub fn at_mm(&self, offset_mm: f64) -> f64 {
        let turns = self.outsides as f64 - self.openings as f64;
        (self.length_mm + turns * TAU * (offset_mm - self.offset_mm)).max(0.0)
    }

    /// Adds a contour with its length at the offset.
    pub(super) fn add(&mut self, role: Role, length_mm: f64) {
        self.length_mm += length_mm;
        match role {
            Role::Opening => self.openings += 1,
            Role::Outside | Role::Open => self.outsides += 1,
        }
    }
}
