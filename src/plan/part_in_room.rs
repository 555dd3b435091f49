//! The part of a plan in the room that it is cut in.

use super::Plan;
use crate::gauge::{PartInRoom, RoomDrift, RoomLog, room_drift};
use crate::geometry::Bounds;
use crate::units::Band;

impl Plan {
    /// Lays the clock of the order over the log of a room: how the part's longest extent moves with its temperature. The order begins at
    /// `begins_min` of the clock of the log, else with its first reading; `lag_min` is the time constant of the part, where it is known.
    /// `None` where the log has no reading.
    pub fn in_room(&self, log: RoomLog, begins_min: Option<f64>, lag_min: Option<f64>) -> Option<RoomDrift> {
        let cut = self
            .inspection
            .contours
            .list
            .iter()
            .filter(|contour| contour.purpose.is_cut());
        let bounds = cut.fold(Bounds::EMPTY, |all, contour| all.union(contour.bounds));
        let material = self.book.material(&self.setup.material);
        let part = PartInRoom {
            room: &self.book.room,
            expansion_um_per_m_k: material
                .map_or(Band::exact(0.0), |material| material.expansion_um_per_m_k.band),
            length_mm: bounds.width().max(bounds.height()),
            begins_min,
            takes_min: self.estimate.totals().map(|totals| totals.order_minutes.expected),
            lag_min,
        };
        room_drift(log, part)
    }
}
