//! How far finished walls drift off their targets: a chart a recipe, and the offset that follows.
//!
//! What is too much on a wall is e; the offset that brings it back is the offset less e. Walls vary by chance too: an offset that is
//! corrected after every piece makes them vary more (W. E. Deming's funnel, from memory). So it is changed on a signal alone, and the
//! readings after a change begin a new baseline with limits of its own.

use std::ops::Range;

use serde::Serialize;

use super::control_chart::{ControlLimits, mean, moving_ranges};
use super::drift_log::{DriftLog, DriftRecipe, WallReading};
use crate::calibrate::LogFlaw;
use crate::tolerance::SAME_POINT_MM;
use crate::units::UM_PER_MM;

/// Fewest points that limits are set from.
pub const FEWEST_POINTS: usize = 12;

/// Limits from fewer points are provisional; the points after so many are judged by them and move them no more.
pub const POINTS_TO_SETTLE: usize = 20;

/// So many points that follow one another on one side of the mean are no chance any more: one of the rules of Western Electric (NIST/SEMATECH
/// e-Handbook of Statistical Methods, 6.3.2, from memory).
pub const RUN_OF_POINTS: usize = 8;

/// How well the limits are known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum LimitState {
    /// There are too few points for limits.
    TooFew,
    /// The points are alike to the last digit: what reads them is too coarse for limits.
    TooCoarse,
    /// They move with each point more.
    Provisional,
    /// They are settled.
    Settled,
}

/// What tells that a wall does not vary by chance alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum SignalRule {
    /// A point lies beyond the limits.
    BeyondLimits,
    /// Two points that follow one another differ by more than the limit of the moving range.
    JumpBeyondLimit,
    /// Eight points or more lie on one side of the mean, one after the other.
    RunOnOneSide,
    /// The mean of all points lies off the target by more than three standard deviations of a mean of so many.
    OffTarget,
}

/// What tells that a wall does not vary by chance alone, and where.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct DriftSignal {
    /// What tells it.
    pub rule: SignalRule,
    /// Line of the log of the first reading that it is about.
    pub from_line: usize,
    /// Line of the log of the last one.
    pub to_line: usize,
    /// The points that it is about, from 0.
    #[serde(skip)]
    pub points: Range<usize>,
}

/// What one piece tells of its walls: a point of the chart.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct DriftPoint {
    /// Line of the log of its first reading.
    pub line: usize,
    /// The day, as written; null where the log does not say it.
    pub date: Option<String>,
    /// The piece, as written; null where the log does not say it.
    pub piece: Option<String>,
    /// How many readings it is the mean of.
    pub readings: usize,
    /// What is too much on a wall, µm; negative where too little stands.
    pub excess_um: f64,
}

/// What the offset is to be changed to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct OffsetChange {
    /// Mean of what is too much on a wall since the signal began, µm.
    pub excess_um: f64,
    /// Its standard uncertainty by the scatter of the points, µm.
    pub standard_um: f64,
    /// How many points it is the mean of.
    pub points: usize,
    /// The new offset, mm: the offset less that mean; null where the log does not say the offset.
    pub offset_mm: Option<f64>,
}

/// The points that were cut with one offset.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct Baseline {
    /// Offset of the last pass, mm; null where the log does not say it.
    pub offset_mm: Option<f64>,
    /// Whether the offset was changed though nothing called for it.
    pub begun_without_signal: bool,
    /// The points, in the order of the log.
    pub points: Vec<DriftPoint>,
    /// How well the limits are known.
    pub state: LimitState,
    /// The limits; null where there are too few points, or these are too coarse.
    pub limits: Option<ControlLimits>,
    /// What tells that the wall does not vary by chance alone.
    pub signals: Vec<DriftSignal>,
    /// What the offset is to be changed to; null where nothing calls for a change.
    pub change: Option<OffsetChange>,
}

/// How the walls of one recipe drift.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct RecipeDrift {
    /// What they were cut with.
    pub recipe: DriftRecipe,
    /// The baselines, one after the other: a new one begins where the offset was changed.
    pub baselines: Vec<Baseline>,
}

/// All that a log of readings tells.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Drift {
    /// The recipes, in the order of the log.
    pub recipes: Vec<RecipeDrift>,
    /// Rows that cannot be used.
    pub flaws: Vec<LogFlaw>,
    /// Rows without a reading.
    pub without_reading: usize,
}

/// Charts the readings of a log, recipe by recipe.
pub fn drift(log: DriftLog) -> Drift {
    let mut recipes: Vec<(DriftRecipe, Vec<WallReading>)> = Vec::new();
    for reading in log.readings {
        match recipes.iter_mut().find(|(recipe, _)| *recipe == reading.recipe) {
            Some((_, readings)) => readings.push(reading),
            None => recipes.push((reading.recipe.clone(), vec![reading])),
        }
    }
    let charted = |(recipe, readings): (DriftRecipe, Vec<WallReading>)| RecipeDrift {
        recipe,
        baselines: baselines(&readings),
    };
    Drift {
        recipes: recipes.into_iter().map(charted).collect(),
        flaws: log.flaws,
        without_reading: log.without_reading,
    }
}

fn baselines(readings: &[WallReading]) -> Vec<Baseline> {
    let mut baselines: Vec<Baseline> = Vec::new();
    for readings in readings.chunk_by(|a, b| is_same_offset(a.offset_mm, b.offset_mm)) {
        let is_called_for = baselines.last().is_none_or(|before| before.change.is_some());
        baselines.push(Baseline::new(readings, !is_called_for));
    }
    baselines
}

fn is_same_offset(one_mm: Option<f64>, other_mm: Option<f64>) -> bool {
    match (one_mm, other_mm) {
        (Some(one_mm), Some(other_mm)) => (one_mm - other_mm).abs() < SAME_POINT_MM,
        (one_mm, other_mm) => one_mm == other_mm,
    }
}

/// Makes points of readings: those of one piece that follow one another are one.
fn points(readings: &[WallReading]) -> Vec<DriftPoint> {
    let of_one_piece = |a: &WallReading, b: &WallReading| a.piece.is_some() && a.piece == b.piece;
    let point = |readings: &[WallReading]| {
        let excess: Vec<f64> = readings
            .iter()
            .map(|reading| reading.excess_mm * UM_PER_MM)
            .collect();
        let first = readings.first()?;
        Some(DriftPoint {
            line: first.line,
            date: first.date.clone(),
            piece: first.piece.clone(),
            readings: readings.len(),
            excess_um: mean(&excess)?,
        })
    };
    readings.chunk_by(of_one_piece).filter_map(point).collect()
}

impl Baseline {
    fn new(readings: &[WallReading], begun_without_signal: bool) -> Self {
        let offset_mm = readings.first().and_then(|reading| reading.offset_mm);
        let points = points(readings);
        let values: Vec<f64> = points.iter().map(|point| point.excess_um).collect();
        let settled = &values[..values.len().min(POINTS_TO_SETTLE)];
        let limits = ControlLimits::of(settled).filter(|_| values.len() >= FEWEST_POINTS);
        let limits_told = limits.filter(|limits| limits.mean_range_um > 0.0);
        let state = match (limits, limits_told) {
            (None, _) => LimitState::TooFew,
            (_, None) => LimitState::TooCoarse,
            _ if values.len() < POINTS_TO_SETTLE => LimitState::Provisional,
            _ => LimitState::Settled,
        };
        let signals = limits_told.map_or_else(Vec::new, |limits| signals(&values, &limits, &points));
        let change = limits_told.and_then(|limits| {
            let since = standing_since(&signals, values.len())?;
            let count = values.len() - since;
            let excess_um = mean(&values[since..])?;
            Some(OffsetChange {
                excess_um,
                standard_um: limits.standard_um() / (count as f64).sqrt(),
                points: count,
                offset_mm: offset_mm.map(|offset_mm| offset_mm - excess_um / UM_PER_MM),
            })
        });
        Self {
            offset_mm,
            begun_without_signal,
            points,
            state,
            limits: limits_told,
            signals,
            change,
        }
    }
}

/// Finds what tells that values do not vary by chance alone.
fn signals(values: &[f64], limits: &ControlLimits, points: &[DriftPoint]) -> Vec<DriftSignal> {
    let ControlLimits {
        lower_um, upper_um, ..
    } = *limits;
    let beyond = |&um: &f64| i32::from(um > upper_um) - i32::from(um < lower_um);
    let side = |&um: &f64| i32::from(um > limits.mean_um) - i32::from(um < limits.mean_um);
    let jumps = moving_ranges(values);
    let jumps = jumps
        .iter()
        .zip(0..)
        .filter(|(um, _)| **um > limits.upper_range_um);
    let off_um = mean(values).unwrap_or_default();
    let is_off = off_um.abs() > limits.reach_of_mean_um(values.len());
    let mut found: Vec<(SignalRule, Range<usize>)> = Vec::new();
    found.extend(runs(values, beyond).map(|run| (SignalRule::BeyondLimits, run)));
    found.extend(jumps.map(|(_, i)| (SignalRule::JumpBeyondLimit, i..i + 2)));
    let long = |run: &Range<usize>| run.len() >= RUN_OF_POINTS;
    found.extend(
        runs(values, side)
            .filter(long)
            .map(|run| (SignalRule::RunOnOneSide, run)),
    );
    found.extend(is_off.then_some((SignalRule::OffTarget, 0..values.len())));
    let signal = |(rule, range): (SignalRule, Range<usize>)| {
        let told = &points[range.clone()];
        Some(DriftSignal {
            rule,
            from_line: told.first()?.line,
            to_line: told.last()?.line,
            points: range,
        })
    };
    found.into_iter().filter_map(signal).collect()
}

/// Runs of values that follow one another on one side, where they lie on any.
fn runs(values: &[f64], side: impl Fn(&f64) -> i32) -> impl Iterator<Item = Range<usize>> {
    let sides: Vec<i32> = values.iter().map(side).collect();
    let mut runs = Vec::new();
    let mut from = 0;
    for run in sides.chunk_by(|a, b| a == b) {
        let to = from + run.len();
        if run[0] != 0 {
            runs.push(from..to);
        }
        from = to;
    }
    runs.into_iter()
}

/// Returns since which of so many points a signal stands that calls for another offset: one that reaches to the last point. A shift of
/// the level goes before a mean off the target; a jump alone says nothing of the level.
fn standing_since(signals: &[DriftSignal], count: usize) -> Option<usize> {
    let since = |is_one: fn(SignalRule) -> bool| {
        let standing = signals
            .iter()
            .filter(|signal| is_one(signal.rule) && signal.points.end == count);
        standing.map(|signal| signal.points.start).min()
    };
    let shift = since(|rule| matches!(rule, SignalRule::BeyondLimits | SignalRule::RunOnOneSide));
    shift.or_else(|| since(|rule| rule == SignalRule::OffTarget))
}

#[cfg(test)]
mod tests;
