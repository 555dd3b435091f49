//! What a room does to a part while it is cut: how far its temperature moves over the clock of the order, and its length with it.

use serde::Serialize;

use super::room_log::{RoomLog, RoomReading};
use super::thermal_lag::{fitted_lag, part_temperatures};
use crate::calibrate::LogFlaw;
use crate::shop::Room;
use crate::units::{Band, UM_PER_MM};

/// Where a time constant comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum LagSource {
    /// It was given.
    Given,
    /// It was fitted to the temperatures of a part in the log.
    Fitted,
}

/// How a part follows the room.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct PartLag {
    /// Time constant, minutes: after a step of the room the part has followed by 63 % of it.
    pub minutes: f64,
    /// Where it comes from.
    pub source: LagSource,
    /// How far measured temperatures of the part lie off what follows from it, K (root of the mean square); null where it was given.
    pub off_k: Option<f64>,
}

/// Temperatures, the humidity and the part at one time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct RoomPoint {
    /// Hours since the first reading of the log.
    pub hours: f64,
    /// Temperature of the room, °C.
    pub room_c: f64,
    /// Relative humidity, %; null where the log does not have it.
    pub humidity_percent: Option<f64>,
    /// Temperature of the part, °C, as it follows; null without a time constant.
    pub part_c: Option<f64>,
    /// Temperature of the part as measured, °C; null where the log does not have it.
    pub measured_c: Option<f64>,
}

/// How a length moves with the temperature of the part over the order.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct LengthDrift {
    /// The length, mm.
    pub length_mm: f64,
    /// Lowest temperature of the part over the order, °C.
    pub coldest_c: f64,
    /// Highest one, °C.
    pub warmest_c: f64,
    /// Expansion × length × (highest − lowest), µm.
    pub moves_um: Band,
    /// Largest change since the order began, µm, signed: what is cut last is off against the pick-up by that.
    pub since_start_um: Band,
}

/// What lies beyond what a shop is kept at.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct BeyondRoom {
    /// The limits, °C.
    pub limits_c: [f64; 2],
    /// How many readings of the order lie outside.
    pub outside: usize,
    /// Lowest and highest temperature of the room over the order, °C; null where the log has no reading then.
    pub reached_c: Option<[f64; 2]>,
    /// Highest relative humidity that a shop is kept at, %.
    pub limit_percent: f64,
    /// How many readings of the order lie above.
    pub too_humid: usize,
    /// Highest relative humidity over the order, %; null where the log has none.
    pub reached_percent: Option<f64>,
    /// How many readings there are over the order.
    pub readings: usize,
}

/// What a room does to a part while it is cut.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct RoomDrift {
    /// The readings of the log, by the clock.
    pub points: Vec<RoomPoint>,
    /// Hours since the first reading at which the order begins and ends.
    pub order_hours: [f64; 2],
    /// Whether it is known how long the order takes; else it is taken to be as long as the log.
    pub order_is_known: bool,
    /// How the part follows; `None` where nothing tells it.
    pub lag: Option<PartLag>,
    /// How its length moves; `None` without a time constant, or where the log has fewer than two readings over the order.
    pub length: Option<LengthDrift>,
    /// What lies beyond what a shop is kept at.
    pub beyond: BeyondRoom,
    /// Rows of the log that cannot be used.
    pub flaws: Vec<LogFlaw>,
}

/// A part in a room.
#[derive(Clone, Copy, Debug)]
pub struct PartInRoom<'a> {
    /// What a shop is kept at.
    pub room: &'a Room,
    /// Its expansion, µm/(m·K).
    pub expansion_um_per_m_k: Band,
    /// The length that moves, mm.
    pub length_mm: f64,
    /// When the order begins, minutes of the clock of the log; with its first reading when `None`.
    pub begins_min: Option<f64>,
    /// How long it takes, minutes; as long as the log where that is not known.
    pub takes_min: Option<f64>,
    /// The time constant, minutes, where it is given.
    pub lag_min: Option<f64>,
}

/// Lays the clock of an order over the log of a room; `None` where the log has no reading.
pub fn room_drift(log: RoomLog, part: PartInRoom<'_>) -> Option<RoomDrift> {
    let (first, last) = (log.readings.first()?.minutes, log.readings.last()?.minutes);
    let begins = part.begins_min.unwrap_or(first);
    let ends = part.takes_min.map_or(last, |minutes| begins + minutes);
    let given = part.lag_min.map(|minutes| PartLag {
        minutes,
        source: LagSource::Given,
        off_k: None,
    });
    let lag = given.or_else(|| {
        fitted_lag(&log.readings).map(|fitted| PartLag {
            minutes: fitted.lag_min,
            source: LagSource::Fitted,
            off_k: Some(fitted.off_k),
        })
    });
    let followed = lag.map(|lag| part_temperatures(&log.readings, lag.minutes));
    let hours = |minutes: f64| (minutes - first) / 60.0;
    let point = |(i, reading): (usize, &RoomReading)| RoomPoint {
        hours: hours(reading.minutes),
        room_c: reading.room_c,
        humidity_percent: reading.humidity_percent,
        part_c: followed.as_ref().map(|followed| followed[i]),
        measured_c: reading.part_c,
    };
    let points: Vec<RoomPoint> = log.readings.iter().enumerate().map(point).collect();
    let order_hours = [hours(begins), hours(ends)];
    let over_order: Vec<RoomPoint> = (points.iter().copied())
        .filter(|point| (order_hours[0]..=order_hours[1]).contains(&point.hours))
        .collect();
    Some(RoomDrift {
        length: length_drift(&over_order, part),
        beyond: beyond_room(&over_order, part.room),
        points,
        order_hours,
        order_is_known: part.takes_min.is_some(),
        lag,
        flaws: log.flaws,
    })
}

fn length_drift(over_order: &[RoomPoint], part: PartInRoom<'_>) -> Option<LengthDrift> {
    let temperatures: Vec<f64> = over_order.iter().filter_map(|point| point.part_c).collect();
    let (&first, rest) = temperatures.split_first()?;
    let coldest_c = temperatures.iter().copied().fold(f64::INFINITY, f64::min);
    let warmest_c = temperatures.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let since_start_k = rest.iter().map(|celsius| celsius - first);
    let farthest_k = since_start_k.max_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    let per_k = part.expansion_um_per_m_k.scaled(part.length_mm / UM_PER_MM);
    let signed = |kelvin: f64| {
        let moved = per_k.scaled(kelvin.abs());
        if kelvin < 0.0 {
            Band {
                low: -moved.high,
                expected: -moved.expected,
                high: -moved.low,
            }
        } else {
            moved
        }
    };
    Some(LengthDrift {
        length_mm: part.length_mm,
        coldest_c,
        warmest_c,
        moves_um: per_k.scaled(warmest_c - coldest_c),
        since_start_um: signed(farthest_k),
    })
}

fn beyond_room(over_order: &[RoomPoint], room: &Room) -> BeyondRoom {
    let limits_c = [room.kept_from_c.value(), room.kept_to_c.value()];
    let limit_percent = room.humidity_percent.value();
    let rooms = over_order.iter().map(|point| point.room_c);
    let humidities = over_order.iter().filter_map(|point| point.humidity_percent);
    let outside = |celsius: &f64| *celsius < limits_c[0] || *celsius > limits_c[1];
    BeyondRoom {
        limits_c,
        outside: rooms.clone().filter(outside).count(),
        reached_c: rooms
            .clone()
            .min_by(f64::total_cmp)
            .zip(rooms.max_by(f64::total_cmp))
            .map(<[f64; 2]>::from),
        limit_percent,
        too_humid: humidities
            .clone()
            .filter(|percent| *percent > limit_percent)
            .count(),
        reached_percent: humidities.max_by(f64::total_cmp),
        readings: over_order.len(),
    }
}
