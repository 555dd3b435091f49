//! Computes how wide the kerf of a pass is.

use super::Plan;
use crate::toolpath::WireLoop;
use crate::units::Band;

impl Plan {
    /// Returns the width of the kerf of a path, wire and both spark gaps, mm; `None` of one whose pass is not in the plan.
    pub fn kerf_mm(&self, wire: &WireLoop) -> Option<Band> {
        let group = self.group_of(wire)?;
        let (pass, trace) = (group.pass(wire.pass)?, group.schedule.trace(wire.pass)?);
        // Beside wire and gap the offset holds the stock that is left and the aim.
        let beside_mm = pass.half_kerf_mm - pass.offset_mm;
        Some(trace.offset.value.plus(beside_mm).scaled(2.0))
    }
}
