use serde::Serialize;

use super::SCHEMA;
use crate::calibrate::LogFlaw;
use crate::gauge::{BeyondRoom, LengthDrift, PartLag, RoomDrift, RoomPoint};
use crate::plan::Plan;

/// What `room --json` prints.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct RoomDocument<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// Base name of the drawing.
    file: &'a str,
    /// Hours since the first reading at which the order begins and ends.
    order_hours: [f64; 2],
    /// Whether it is known how long the order takes; else it is taken to be as long as the log.
    order_is_known: bool,
    /// How the part follows the room; null where nothing tells it.
    lag: Option<PartLag>,
    /// How its longest extent moves over the order; null without a time constant, or with fewer than two readings over the order.
    length: Option<LengthDrift>,
    /// What lies beyond what a shop is kept at.
    beyond: BeyondRoom,
    /// The readings, by the clock.
    points: &'a [RoomPoint],
    /// Lines of the log that could not be used.
    unusable: &'a [LogFlaw],
}

impl<'a> RoomDocument<'a> {
    pub(super) fn new(plan: &'a Plan, drift: &'a RoomDrift) -> Self {
        Self {
            schema: SCHEMA,
            file: &plan.inspection.file,
            order_hours: drift.order_hours,
            order_is_known: drift.order_is_known,
            lag: drift.lag,
            length: drift.length,
            beyond: drift.beyond,
            points: &drift.points,
            unusable: &drift.flaws,
        }
    }
}
