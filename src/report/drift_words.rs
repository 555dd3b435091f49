//! The words for readings on finished walls and their charts.

use crate::gauge::{
    Baseline, ControlLimits, DriftPoint, DriftRecipe, DriftSignal, FEWEST_POINTS, LimitState, OffsetChange,
    POINTS_TO_SETTLE, SignalRule,
};
use crate::message::number::counted;
use crate::message::{Message, QuantityValue, message, mm, um};

/// What walls were cut with: `tool-steel 30 mm, 0.25 mm brass, 4 passes on north`.
pub(super) fn recipe_in_words(recipe: &DriftRecipe) -> Message {
    let work = [
        recipe.material.as_ref().map(|name| message!("{}", name)),
        recipe
            .thickness_mm
            .map(|thick_mm| message!("{} thick", mm(thick_mm))),
        recipe
            .wire_mm
            .map(|wire_mm| message!("{} wire", mm(wire_mm).fixed(2))),
        recipe.wire_kind.as_ref().map(|kind| message!("{}", kind)),
        recipe.passes.map(|passes| {
            let plural = if passes == 1 { "" } else { "es" };
            message!("{} pass{}", passes, plural)
        }),
        recipe.machine.as_ref().map(|name| message!("machine {}", name)),
    ];
    let told: Vec<Message> = work.into_iter().flatten().collect();
    if told.is_empty() {
        return "all readings (the log names neither material nor wire nor machine)".into();
    }
    Message::joined(told, ", ")
}

/// How much is too much on a wall: `+3.2 µm`.
pub(super) fn excess(excess_um: f64) -> QuantityValue {
    um(excess_um).fixed(1).signed()
}

/// What stands of a point while the pointer rests on it.
pub(super) fn point_in_words(point: &DriftPoint) -> Message {
    let mut told = message!("line {}", point.line);
    if let Some(piece) = &point.piece {
        told += message!(", piece {}", piece);
    }
    if let Some(date) = &point.date {
        told += message!(", {}", date);
    }
    told += message!(
        ": {} on a wall, {}",
        excess(point.excess_um),
        counted(point.readings, "reading")
    );
    told
}

/// How well limits are known.
pub(super) fn limit_state(baseline: &Baseline) -> Message {
    let count = baseline.points.len();
    match baseline.state {
        LimitState::TooFew => message!("none yet: {} of at least {} points", count, FEWEST_POINTS),
        LimitState::TooCoarse => {
            "none: the readings are alike to the last digit; read them with a finer instrument".into()
        }
        LimitState::Provisional => message!("provisional: {} of {} points", count, POINTS_TO_SETTLE),
        LimitState::Settled => message!("settled by the first {} points", POINTS_TO_SETTLE),
    }
}

/// The limits of a point and of the change from one to the next.
pub(super) fn limits_in_words(limits: &ControlLimits) -> Message {
    message!(
        "{} to {}, mean {}; change from point to point up to {}",
        excess(limits.lower_um).bare(),
        excess(limits.upper_um),
        excess(limits.mean_um),
        um(limits.upper_range_um).fixed(1)
    )
}

/// What a signal says.
pub(super) fn signal_in_words(signal: &DriftSignal) -> Message {
    let lines = if signal.from_line == signal.to_line {
        message!("line {}", signal.from_line)
    } else {
        message!("lines {} to {}", signal.from_line, signal.to_line)
    };
    let count = signal.points.len();
    match signal.rule {
        SignalRule::BeyondLimits => message!("{}: {} beyond the limits", lines, counted(count, "point")),
        SignalRule::JumpBeyondLimit => message!(
            "{}: a jump beyond its limit; look what changed between the two: wire, guides, material, clamping, reading",
            lines
        ),
        SignalRule::RunOnOneSide => message!(
            "{}: {} one after the other on one side of the mean",
            lines,
            counted(count, "point")
        ),
        SignalRule::OffTarget => message!("{}: the mean of all points lies off the target", lines),
    }
}

/// What to do about the offset.
pub(super) fn advice(baseline: &Baseline) -> Message {
    match (&baseline.change, baseline.limits) {
        (Some(change), _) => change_in_words(change, baseline.offset_mm),
        (None, Some(_)) => "leave the offset as it is: nothing tells more than chance".into(),
        (None, None) => "leave the offset as it is until there are limits; where a size is outside its tolerance, cut and gauge a test piece".into(),
    }
}

fn change_in_words(change: &OffsetChange, offset_mm: Option<f64>) -> Message {
    let OffsetChange {
        excess_um,
        standard_um,
        points,
        offset_mm: new_mm,
    } = *change;
    let reads_again = if points == 1 {
        "measure it again first; if it stays, "
    } else {
        ""
    };
    let by = message!(
        "{} on a wall (± {}, k = 2) by {}",
        excess(excess_um),
        um(2.0 * standard_um).fixed(1),
        counted(points, "point")
    );
    if let (Some(from_mm), Some(to_mm)) = (offset_mm, new_mm) {
        return message!(
            "{}change the offset of the last pass from {} to {}: {}; then begin a new baseline",
            reads_again,
            mm(from_mm).fixed(4).bare(),
            mm(to_mm).fixed(4),
            by
        );
    }
    message!(
        "{}change the offset of the last pass by {}: {}; then begin a new baseline",
        reads_again,
        excess(-excess_um),
        by
    )
}
