//! What is given for the whole job, for its layers and for single contours.

use std::collections::BTreeMap;

use crate::id::ContourId;

/// What may be left open, to be filled from what is given for more.
pub trait FillFrom: Clone {
    /// Fills what this leaves open from `whole`.
    #[must_use]
    fn or(&self, whole: &Self) -> Self;
}

/// What is given for the whole job, for its layers and for single contours.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ByContour<T> {
    /// For all contours.
    pub all: T,
    /// For those of a layer, by its name without case.
    pub layers: BTreeMap<String, T>,
    /// For a contour, by its number.
    pub contours: BTreeMap<ContourId, T>,
}

impl<T: FillFrom> ByContour<T> {
    /// Returns what holds for a contour on a layer: its own goes before its layer's, and that before the job's.
    pub fn on(&self, contour: ContourId, layer: &str) -> T {
        let mut layers = self.layers.iter();
        let named = layers.find(|(name, _)| name.to_lowercase() == layer.to_lowercase());
        let of_layer = named.map_or_else(|| self.all.clone(), |(_, given)| given.or(&self.all));
        let own = self.contours.get(&contour).map(|given| given.or(&of_layer));
        own.unwrap_or(of_layer)
    }
}
