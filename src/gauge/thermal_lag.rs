//! How the temperature of a part follows that of its room: a first-order lag, τ · dP/dt = R − P.
//!
//! Between two readings the room is taken as changing evenly, R = a + b·t; then, with P₀ at the first of them,
//! P(t) = R(t) − b·τ + (P₀ − a + b·τ)·exp(−t/τ), without error of steps.

use super::room_log::RoomReading;
use crate::elementary::{exp, ln};

/// Fewest temperatures of a part that a time constant is fitted from.
const FEWEST_PART_READINGS: usize = 12;

/// The room has to move by so much, K, for a time constant to be told: estimate, some ten times what a thermometer reads to.
const LEAST_SWING_K: f64 = 1.0;

/// Between these a time constant is looked for, minutes.
const SHORTEST_MIN: f64 = 1.0;
const LONGEST_MIN: f64 = 2880.0;

/// Nearer to an end of that range, as a share, it is not told.
const AT_END: f64 = 0.01;

/// Computes the temperature of a part at each reading, °C; at the first it has that of the room, or its own where it was measured.
pub fn part_temperatures(readings: &[RoomReading], lag_min: f64) -> Vec<f64> {
    let Some(first) = readings.first() else {
        return Vec::new();
    };
    let mut part_c = first.part_c.unwrap_or(first.room_c);
    let mut temperatures = vec![part_c];
    for pair in readings.windows(2) {
        let minutes = pair[1].minutes - pair[0].minutes;
        let behind_k = (pair[1].room_c - pair[0].room_c) / minutes * lag_min;
        let left = exp(-minutes / lag_min);
        part_c = pair[1].room_c - behind_k + (part_c - pair[0].room_c + behind_k) * left;
        temperatures.push(part_c);
    }
    temperatures
}

/// A time constant that was fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedLag {
    /// The time constant, minutes.
    pub lag_min: f64,
    /// How far the temperatures of the part lie off what follows from it, K: root of the mean square.
    pub off_k: f64,
}

/// Fits the time constant to the temperatures of a part by least squares; `None` where the log cannot tell it: too few of them, a room that
/// hardly moves, or no best value between a minute and two days.
pub fn fitted_lag(readings: &[RoomReading]) -> Option<FittedLag> {
    let from = readings.iter().position(|reading| reading.part_c.is_some())?;
    let readings = &readings[from..];
    let measured = readings.iter().filter(|reading| reading.part_c.is_some()).count();
    let rooms = readings.iter().map(|reading| reading.room_c);
    let swing_k = rooms.clone().fold(f64::NEG_INFINITY, f64::max) - rooms.fold(f64::INFINITY, f64::min);
    if measured < FEWEST_PART_READINGS || swing_k < LEAST_SWING_K {
        return None;
    }
    let off_k = |log_min: f64| {
        let modelled = part_temperatures(readings, exp(log_min));
        let off = readings.iter().zip(modelled);
        let squares = off.filter_map(|(reading, modelled_c)| Some((reading.part_c? - modelled_c).powi(2)));
        (squares.sum::<f64>() / measured as f64).sqrt()
    };
    let (shortest, longest) = (ln(SHORTEST_MIN), ln(LONGEST_MIN));
    let best = least_at(off_k, shortest, longest);
    let is_within = best > shortest + AT_END && best < longest - AT_END;
    is_within.then(|| FittedLag {
        lag_min: exp(best),
        off_k: off_k(best),
    })
}

/// Finds where a function is least: the best of evenly spaced places, then golden sections round it (J. Kiefer, Proceedings of the American
/// Mathematical Society 4 (1953) 502–506, from memory).
fn least_at(of: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    const PLACES: u32 = 40;
    const SECTIONS: u32 = 60;
    let step = (high - low) / f64::from(PLACES);
    let place = |i: u32| low + f64::from(i) * step;
    let best = (0..=PLACES)
        .min_by(|&a, &b| of(place(a)).total_cmp(&of(place(b))))
        .unwrap_or(0);
    let (mut low, mut high) = (place(best.saturating_sub(1)), place((best + 1).min(PLACES)));
    let share = (5.0_f64.sqrt() - 1.0) / 2.0;
    for _ in 0..SECTIONS {
        let (left, right) = (high - share * (high - low), low + share * (high - low));
        if of(left) <= of(right) {
            high = right;
        } else {
            low = left;
        }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    fn reading(minutes: f64, room_c: f64, part_c: Option<f64>) -> RoomReading {
        RoomReading {
            minutes,
            room_c,
            humidity_percent: None,
            part_c,
        }
    }

    /// Step response of a first-order lag, any textbook on control: P = b − (b − a)·exp(−t/τ).
    #[test]
    fn a_step_is_followed_by_an_exponential() {
        let (from_c, to_c, lag_min) = (20.0, 27.0, 90.0);
        for step_min in [1.0, 7.0, 60.0] {
            let mut readings: Vec<RoomReading> = (0..50)
                .map(|i| reading(f64::from(i) * step_min, to_c, None))
                .collect();
            readings[0].part_c = Some(from_c);
            for (found, reading) in part_temperatures(&readings, lag_min).into_iter().zip(&readings) {
                let right = to_c - (to_c - from_c) * (-reading.minutes / lag_min).exp();
                assert!((found - right).abs() < 1e-9, "{found} is not {right}");
            }
        }
    }

    /// Frequency response of a first-order lag, any textbook on control: amplitude 1/√(1 + (ωτ)²), phase −atan ωτ. The room is sampled every
    /// minute of a daily swing: straight lines between are off by (ω·1 min)²/8 = 2.4e-6 of it at most.
    #[test]
    fn a_daily_swing_comes_smaller_and_later() {
        let day_min = 1440.0;
        let omega = TAU / day_min;
        for lag_min in [30.0_f64, 240.0, 1440.0] {
            let minutes = (0..=20 * 1440).map(f64::from);
            let readings: Vec<RoomReading> = minutes
                .map(|t| reading(t, 22.0 + 2.5 * (omega * t).sin(), None))
                .collect();
            let found = part_temperatures(&readings, lag_min);
            let amplitude = 2.5 / (1.0 + (omega * lag_min).powi(2)).sqrt();
            let phase = (omega * lag_min).atan();
            for (reading, found) in readings.iter().zip(found).skip(19 * 1440) {
                let right = 22.0 + amplitude * (omega * reading.minutes - phase).sin();
                assert!((found - right).abs() < 1e-4, "{lag_min}: {found} is not {right}");
            }
        }
    }

    /// What made the temperatures comes back; from a room that does not move, or from few temperatures, nothing does.
    #[test]
    fn the_time_constant_comes_back() {
        for lag_min in [12.0, 95.0, 700.0] {
            let minutes = (0..300).map(|i| f64::from(i) * 10.0);
            let mut readings: Vec<RoomReading> = minutes
                .map(|t| reading(t, 22.0 + 3.0 * (t / 180.0).sin(), None))
                .collect();
            let made = part_temperatures(&readings, lag_min);
            for (i, (reading, part_c)) in readings.iter_mut().zip(made).enumerate() {
                reading.part_c = (i % 5 == 0).then_some(part_c);
            }
            let fitted = fitted_lag(&readings).expect("told");
            assert!(
                (fitted.lag_min / lag_min - 1.0).abs() < 1e-5,
                "{fitted:?}, made with {lag_min}"
            );
            assert!(fitted.off_k < 1e-6);
            assert_eq!(fitted_lag(&readings[..50]), None, "ten temperatures");
            for reading in &mut readings {
                reading.room_c = 22.0;
            }
            assert_eq!(fitted_lag(&readings), None);
        }
    }
}
