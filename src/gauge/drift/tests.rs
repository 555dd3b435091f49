use std::fmt::Write as _;

use super::*;
use crate::gauge::read_drift_log;

/// A part whose size repeats −1, +1 µm a wall about a level: moving range 2, standard deviation 2/1.128.
fn log(levels: &[(f64, usize, f64)]) -> String {
    let mut text = "kind,target_mm,measured_mm,offset_mm\n".to_owned();
    for &(offset_mm, count, level_um) in levels {
        for i in 0..count {
            let wall_um = level_um + if i % 2 == 0 { -1.0 } else { 1.0 };
            let measured_mm = 20.0 + 2.0 * wall_um / 1e3;
            let _ = writeln!(text, "part,20,{measured_mm:.9},{offset_mm}");
        }
    }
    text
}

fn baselines_of(levels: &[(f64, usize, f64)]) -> Vec<Baseline> {
    let drift = drift(read_drift_log(&log(levels)));
    assert_eq!((drift.recipes.len(), drift.flaws.len()), (1, 0));
    drift
        .recipes
        .into_iter()
        .flat_map(|recipe| recipe.baselines)
        .collect()
}

fn near(found: f64, right: f64) {
    assert!((found - right).abs() < 1e-6, "{found} is not {right}");
}

/// Closed forms: the mean of −1, +1, … of an even count is 0, every moving range is 2, so the limits are ± 3·2/1.128 and 3.267·2.
#[test]
fn a_wall_that_stays_is_left_alone() {
    for (count, state) in [
        (2, LimitState::TooFew),
        (11, LimitState::TooFew),
        (12, LimitState::Provisional),
        (18, LimitState::Provisional),
        (20, LimitState::Settled),
        (60, LimitState::Settled),
    ] {
        let [baseline] = &baselines_of(&[(0.130, count, 0.0)])[..] else {
            panic!("one baseline")
        };
        assert_eq!((baseline.points.len(), baseline.state), (count, state));
        assert_eq!(baseline.limits.is_some(), count >= FEWEST_POINTS);
        assert!(
            baseline.signals.is_empty() && baseline.change.is_none(),
            "{count}"
        );
        if let Some(limits) = baseline.limits {
            near(limits.mean_um, 0.0);
            near(limits.upper_um, 6.0 / 1.128);
            near(limits.lower_um, -6.0 / 1.128);
            near(limits.upper_range_um, 6.534);
        }
    }
}

/// A step of 10 µm too much on each wall after 20 readings: both the first reading beyond the limits and the run begin there, and the
/// new offset is 130 − 10 µm. Settled limits are not drawn along.
#[test]
fn a_step_is_taken_back_by_the_offset() {
    let mut text = log(&[(0.130, 20, 0.0)]);
    text.extend(
        log(&[(0.130, 10, 10.0)])
            .lines()
            .skip(1)
            .map(|line| format!("{line}\n")),
    );
    let drift = drift(read_drift_log(&text));
    let baseline = &drift.recipes[0].baselines[0];
    near(baseline.limits.expect("settled").upper_um, 6.0 / 1.128);
    let told = |rule| {
        let mut signals = baseline.signals.iter();
        signals
            .find(|signal| signal.rule == rule)
            .map(|signal| (signal.from_line, signal.to_line))
    };
    // Reading 20 is +1, above the mean, and stands in the run too; the heading is line 1.
    assert_eq!(told(SignalRule::BeyondLimits), Some((22, 31)));
    assert_eq!(told(SignalRule::RunOnOneSide), Some((21, 31)));
    let change = baseline.change.expect("a signal");
    near(change.excess_um, (10.0 * 10.0 + 1.0) / 11.0);
    near(change.offset_mm.expect("given"), 0.130 - change.excess_um / 1e3);
}

/// A wall that never varied but was off from the beginning: the mean lies off by more than 3 standard deviations of a mean.
#[test]
fn a_wall_that_was_never_right_is_off_target() {
    let of = |level_um| baselines_of(&[(0.130, 16, level_um)]).remove(0);
    // 3·(2/1.128)/√16 = 1.3298 µm.
    assert!(of(1.32).change.is_none());
    let off = of(1.34);
    assert_eq!(off.signals[0].rule, SignalRule::OffTarget);
    let change = off.change.expect("off target");
    near(change.excess_um, 1.34);
    near(change.offset_mm.expect("given"), 0.12866);
    near(change.standard_um, 2.0 / 1.128 / 4.0);
}

/// After a change the limits are made anew from what was cut since; one that nothing called for is told.
#[test]
fn a_change_of_offset_begins_a_baseline() {
    let [before, after] = &baselines_of(&[(0.130, 20, 4.0), (0.126, 5, 0.0)])[..] else {
        panic!("two baselines")
    };
    assert!(before.change.is_some() && !after.begun_without_signal);
    assert_eq!((after.offset_mm, after.state), (Some(0.126), LimitState::TooFew));
    let without = baselines_of(&[(0.130, 20, 0.0), (0.129, 5, 0.0)]);
    assert!(without[1].begun_without_signal);
}

/// A single wild reading that did not come back tells no new level.
#[test]
fn what_went_by_calls_for_no_change() {
    let mut text = log(&[(0.130, 21, 0.0)]);
    text += "part,20,20.040,0.13\n";
    text.extend(
        log(&[(0.130, 6, 0.0)])
            .lines()
            .skip(1)
            .map(|line| format!("{line}\n")),
    );
    let baseline = &drift(read_drift_log(&text)).recipes[0].baselines[0];
    let rules: Vec<SignalRule> = baseline.signals.iter().map(|signal| signal.rule).collect();
    assert!(
        rules.contains(&SignalRule::BeyondLimits) && rules.contains(&SignalRule::JumpBeyondLimit),
        "{rules:?}"
    );
    assert!(baseline.change.is_none());
}

/// Readings of one piece are one point: their mean. What was cut otherwise stands on a chart of its own.
#[test]
fn a_piece_is_a_point_and_a_recipe_a_chart() {
    let drift = drift(read_drift_log(
        "kind,piece,material,passes,target_mm,measured_mm\n\
         part,1,tool-steel,4,20,20.004\nopening,1,tool-steel,4,10,9.992\npart,2,tool-steel,4,20,20.002\n\
         part,1,tungsten-carbide,4,20,20.000\npart,,tool-steel,4,20,20.006\npart,,tool-steel,4,20,20.006\n",
    ));
    let found: Vec<Vec<(usize, f64)>> = drift
        .recipes
        .iter()
        .map(|recipe| {
            let points = recipe.baselines[0].points.iter();
            points
                .map(|point| (point.readings, point.excess_um.round()))
                .collect()
        })
        .collect();
    assert_eq!(
        found,
        [vec![(2, 3.0), (1, 1.0), (1, 3.0), (1, 3.0)], vec![(1, 0.0)]]
    );
}

/// An instrument that reads whole hundredths tells nothing of walls that vary by micrometres.
#[test]
fn readings_alike_to_the_last_digit_set_no_limits() {
    let text = "kind,target_mm,measured_mm\n".to_owned() + &"part,20,20.01\n".repeat(15);
    let baseline = &drift(read_drift_log(&text)).recipes[0].baselines[0];
    assert_eq!((baseline.state, baseline.limits), (LimitState::TooCoarse, None));
    assert!(baseline.change.is_none());
}
